import type { FaultData } from "../../../shared/files/fault-data.ts";
import type { Hypothesis } from "./hypotheses.ts";
import { enableOf, type PlacedFault } from "./place-faults.ts";
import type { PowerTree } from "./power-tree.ts";
import { loadsPlane } from "./predict-cold.ts";

/** Share of boards where a plug's sense pin acts on the enable that the board file names, not on another input (common practice, no source). */
const BY_ENABLE = 0.15;

/** Shares of absent, under, normal, over and pulsing. */
export type VoltsShares = readonly number[];

/** Chance of each powered state of a rail, signal or feed under a hypothesis, without slips. */
export function predictVolts(
  hypothesis: Hypothesis,
  point: string,
  tree: PowerTree,
  data: FaultData,
  roleOf: (rail: string) => string | undefined,
): VoltsShares {
  const each = hypothesis.faults.map((fault) => underOne(fault, point, tree, data, roleOf));
  const [first, second] = each;
  if (first === undefined) return data.states.voltsDefault;
  if (second === undefined) return first;
  // Two causes at once: a rail is well only where both let it be; otherwise the worse of the two shows.
  const both = (first[2] ?? 0) * (second[2] ?? 0);
  const rest = first.map((share, state) => (state === 2 ? 0 : share + (second[state] ?? 0)));
  const total = rest.reduce((sum, share) => sum + share, 0);
  return rest.map((share, state) => (state === 2 ? both : total > 0 ? (share / total) * (1 - both) : 0));
}

function underOne(
  fault: PlacedFault,
  point: string,
  tree: PowerTree,
  data: FaultData,
  roleOf: (rail: string) => string | undefined,
): VoltsShares {
  const { row } = fault;
  const { voltsDefault, voltsBehind, voltsWords } = data.states;
  if (typeof row.volts === "string" && point === fault.point) return voltsWords[row.volts] ?? voltsDefault;
  if (typeof row.volts === "object" && !Object.hasOwn(tree.board.feeds, point)) {
    const word = row.volts[roleOf(point) ?? ""] ?? row.volts["all"];
    if (word !== undefined) return voltsWords[word] ?? voltsDefault;
  }
  const share = stoppedShare(fault, point, tree, roleOf);
  return voltsDefault.map((healthy, state) => share * (voltsBehind[state] ?? 0) + (1 - share) * healthy);
}

/** True where the fault keeps this point from coming up on most boards. */
export const isStopped = (
  fault: PlacedFault,
  point: string,
  tree: PowerTree,
  roleOf: (rail: string) => string | undefined,
): boolean => stoppedShare(fault, point, tree, roleOf) >= 0.5;

/** Share of boards where the fault keeps this point from coming up, by the power tree alone, 0 to 1. */
function stoppedShare(
  fault: PlacedFault,
  point: string,
  tree: PowerTree,
  roleOf: (rail: string) => string | undefined,
): number {
  const { row } = fault;
  if (typeof row.stops === "string") {
    const stopped = tree.rails.filter((rail) => roleOf(rail) === row.stops);
    if (stopped.some((rail) => rail === point || tree.isBehind(point, rail))) return 1;
    // It may act on the enable the board file names, or on another input of the same controller.
    return stopped.some((rail) => enableOf(rail, tree) === point) ? BY_ENABLE : 0;
  }
  const share = Number(row.stops);
  // A cut feed still has its volts at the connector; a loaded one has not.
  if (fault.feed !== null && (row.opens || loadsPlane(fault))) {
    return Number(point === fault.feed ? loadsPlane(fault) : tree.isBehind(point, fault.feed)) * share;
  }
  const isBehind = row.volts !== undefined && fault.point !== null && tree.isBehind(point, fault.point);
  return isBehind ? share : 0;
}
