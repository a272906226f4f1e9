import type { AnswerShares, FaultCheck } from "../../../shared/fault-data.ts";
import type { Hypothesis } from "./hypotheses.ts";
import type { PowerTree } from "./power-tree.ts";
import { isStopped } from "./predict-volts.ts";

/** Chance of each answer of a check, in the order of its healthy answers, under a hypothesis, without slips. */
export function predictCheck(
  hypothesis: Hypothesis,
  check: { name: string; entry: FaultCheck; point: string | null },
  tree: PowerTree,
  roleOf: (rail: string) => string | undefined,
): number[] {
  const { name, entry, point } = check;
  const answers = Object.keys(entry.healthy);
  const inOrder = (shares: AnswerShares): number[] => answers.map((answer) => shares[answer] ?? 0);
  for (const fault of hypothesis.faults) {
    const given = fault.row.checks[name];
    // A shorted input also heats where its own feed is injected; every other check is of the fault's own point.
    const stopsAt = typeof fault.row.stops === "string" && point !== null && roleOf(point) === fault.row.stops;
    if (given !== undefined && (point === null || fault.point === point || stopsAt || isInput(fault, point))) {
      return inOrder(given);
    }
  }
  const isBehind =
    entry.behind !== undefined &&
    hypothesis.faults.some((fault) =>
      point === null ? isStoppingAny(fault, tree, roleOf) : isStopped(fault, point, tree, roleOf),
    );
  return inOrder(isBehind ? (entry.behind ?? entry.healthy) : entry.healthy);
}

const isInput = (fault: Hypothesis["faults"][number], point: string): boolean =>
  fault.feed === point && fault.row.cold["in"] !== undefined;

/** True where some rail stays down: reset, clock and firmware then wait too. */
function isStoppingAny(
  fault: Hypothesis["faults"][number],
  tree: PowerTree,
  roleOf: (rail: string) => string | undefined,
): boolean {
  const isDown = typeof fault.row.volts === "string" && !fault.row.signalOnly && Number(fault.row.stops) >= 0.5;
  return isDown || tree.rails.some((rail) => isStopped(fault, rail, tree, roleOf));
}
