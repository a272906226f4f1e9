import type { AnswerShares, FaultCheck, FaultData } from "../../../shared/files/fault-data.ts";
import type { ChipLook } from "./chip-running.ts";
import type { Hypothesis } from "./hypotheses.ts";
import type { PowerTree } from "./power-tree.ts";
import { isStopped } from "./predict-volts.ts";

/** A check of the fault data at one point of a board, or of the whole board. */
interface Check {
  name: string;
  entry: FaultCheck;
  point: string | null;
}
type RoleOf = (rail: string) => string | undefined;

/** Chance of each answer of a check, in the order of its healthy answers, under a hypothesis, without slips. */
export function predictCheck(hypothesis: Hypothesis, check: Check, tree: PowerTree, roleOf: RoleOf): number[] {
  const { entry, point } = check;
  const own = ownAnswers(hypothesis, check, roleOf);
  if (own !== null) return own;
  const isBehind =
    entry.behind !== undefined &&
    hypothesis.faults.some((fault) =>
      point === null ? isStoppingAny(fault, tree, roleOf) : isStopped(fault, point, tree, roleOf),
    );
  return inOrder(entry, isBehind ? (entry.behind ?? entry.healthy) : entry.healthy);
}

/** A check that sees whether the chip runs, under each hypothesis, without slips. */
export function predictChip(
  hypotheses: readonly Hypothesis[],
  check: Check,
  of: { tree: PowerTree; roleOf: RoleOf; data: FaultData },
): ChipLook {
  const { entry } = check;
  return {
    runs: hypotheses.map((hypothesis) => chipRuns(hypothesis, of.tree, of.roleOf, of.data)),
    running: inOrder(entry, entry.healthy),
    waiting: inOrder(entry, entry.behind ?? entry.healthy),
    own: hypotheses.map((hypothesis) => ownAnswers(hypothesis, check, of.roleOf)),
  };
}

/** Share of boards on which the chip runs: of two faults, the one that stops it oftener decides. */
function chipRuns(hypothesis: Hypothesis, tree: PowerTree, roleOf: RoleOf, { chipRuns: of }: FaultData): number {
  return Math.min(
    of.healthy,
    ...hypothesis.faults.map(
      (fault) => fault.row.chipRuns ?? (isStoppingAny(fault, tree, roleOf) ? of.behind : of.healthy),
    ),
  );
}

/** The answers that the fault data has for this fault itself; null where it has none. */
function ownAnswers(hypothesis: Hypothesis, { name, entry, point }: Check, roleOf: RoleOf): number[] | null {
  for (const fault of hypothesis.faults) {
    const given = fault.row.checks[name];
    // A shorted input also heats where its own feed is injected; every other check is of the fault's own point.
    const stopsAt = typeof fault.row.stops === "string" && point !== null && roleOf(point) === fault.row.stops;
    if (given !== undefined && (point === null || fault.point === point || stopsAt || isInput(fault, point))) {
      return inOrder(entry, given);
    }
  }
  return null;
}

const inOrder = (entry: FaultCheck, shares: AnswerShares): number[] =>
  Object.keys(entry.healthy).map((answer) => shares[answer] ?? 0);

const isInput = (fault: Hypothesis["faults"][number], point: string): boolean =>
  fault.feed === point && fault.row.cold["in"] !== undefined;

/** True where some rail stays down: reset, clock and firmware then wait too. */
function isStoppingAny(fault: Hypothesis["faults"][number], tree: PowerTree, roleOf: RoleOf): boolean {
  const isDown = typeof fault.row.volts === "string" && !fault.row.signalOnly && Number(fault.row.stops) >= 0.5;
  return isDown || tree.rails.some((rail) => isStopped(fault, rail, tree, roleOf));
}
