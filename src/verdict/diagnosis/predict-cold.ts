import type { FaultData } from "../../../shared/files/fault-data.ts";
import type { Hypothesis } from "./hypotheses.ts";
import type { PlacedFault } from "./place-faults.ts";
import type { PowerTree } from "./power-tree.ts";

/** Shares of short, low, normal and high. */
export type ColdShares = readonly number[];

/** The place asked about: a feed at its connector, a rail, or a pair of both. */
export interface ColdPoint {
  first: string;
  second: string | null;
}

/** The weight of a short in the shares: the more shorted of two faults decides what a point reads. */
const conductance = (shares: ColdShares): number => (shares[0] ?? 0) * 2 + (shares[1] ?? 0) - (shares[3] ?? 0);

/** Chance of each cold state of a point or pair under a hypothesis, without slips. */
export function predictCold(hypothesis: Hypothesis, point: ColdPoint, tree: PowerTree, data: FaultData): ColdShares {
  return point.second === null
    ? predictPoint(hypothesis, point.first, tree, data)
    : predictPair(hypothesis, point.first, point.second, tree, data);
}

/** A cut feed reads open at its connector; whole, it reads its plane. */
function predictPoint(hypothesis: Hypothesis, point: string, tree: PowerTree, data: FaultData): ColdShares {
  if (
    Object.hasOwn(tree.board.feeds, point) &&
    hypothesis.faults.some((fault) => fault.row.opens && fault.feed === point)
  ) {
    return data.states.openFeed;
  }
  const source = feedBehind(point, tree) ?? point;
  return strongest(
    hypothesis.faults.map((fault) => {
      const sits = fault.point === point || fault.point === source;
      const word =
        (sits ? fault.row.cold["at"] : undefined) ??
        (fault.feed === source && !sits ? fault.row.cold["in"] : undefined) ??
        fault.row.cold["all"];
      return word === undefined ? undefined : data.states.coldWords[word];
    }),
    data.states.coldDefault,
  );
}

function predictPair(
  hypothesis: Hypothesis,
  first: string,
  second: string,
  tree: PowerTree,
  data: FaultData,
): ColdShares {
  const isInput = (point: string, rail: string): boolean => (feedBehind(point, tree) ?? point) === tree.inputOf(rail);
  const [rail, other] = isInput(second, first) ? [first, second] : [second, first];
  const source = feedBehind(other, tree) ?? other;
  const isCut =
    Object.hasOwn(tree.board.feeds, other) &&
    hypothesis.faults.some((fault) => fault.row.opens && fault.feed === other);
  return strongest(
    hypothesis.faults.map((fault) => {
      if (isCut || fault.point !== rail || fault.feed !== source) return undefined;
      const word = fault.row.cold["in:at"];
      return word === undefined ? undefined : data.states.coldWords[word];
    }),
    data.states.pairDefault,
  );
}

/** The feed a point is, or is the plane of. */
export const feedBehind = (point: string, tree: PowerTree): string | null =>
  Object.hasOwn(tree.board.feeds, point) ? point : tree.feedOfPlane(point);

function strongest(found: readonly (ColdShares | undefined)[], otherwise: ColdShares): ColdShares {
  return found.filter((each) => each !== undefined).sort((a, b) => conductance(b) - conductance(a))[0] ?? otherwise;
}

/** True where the fault loads what it is fed from, so that this cannot come up itself. */
export const loadsPlane = (fault: PlacedFault): boolean =>
  fault.row.short && fault.feed !== null && (fault.point === fault.feed || fault.row.cold["in"] !== undefined);
