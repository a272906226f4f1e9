import type { Hypothesis } from "./hypotheses.ts";
import type { PlacedFault } from "./place-faults.ts";
import type { PowerTree } from "./power-tree.ts";
import { feedBehind, loadsPlane } from "./predict-cold.ts";

interface Members {
  /** Shorts that show in the ohms of a point to ground. */
  shown: Map<string, number[]>;
  /** Shorts and leaks that sit at a point or load it, however they show. */
  hunted: Map<string, number[]>;
}

const known = new WeakMap<readonly Hypothesis[], Members>();

/** Which hypotheses concern each point; worked out once for a list. */
function membersOf(hypotheses: readonly Hypothesis[]): Members {
  const found = known.get(hypotheses);
  if (found !== undefined) return found;
  const members: Members = { shown: new Map(), hunted: new Map() };
  hypotheses.forEach((hypothesis, index) => {
    const add = (map: Map<string, number[]>, point: string | null): void => {
      if (point === null || map.get(point)?.at(-1) === index) return;
      map.set(point, [...(map.get(point) ?? []), index]);
    };
    for (const { row, kind, point, feed } of hypothesis.faults) {
      if (!row.short && kind !== "leaky") continue;
      const loaded = row.cold["in"] === undefined ? null : feed;
      add(members.hunted, point);
      add(members.hunted, loaded);
      if (!row.short) continue;
      if (row.cold["at"] !== undefined) add(members.shown, point);
      add(members.shown, loaded);
    }
  });
  known.set(hypotheses, members);
  return members;
}

/**
 * True where a point that reads its nominal volts under power rules the hypothesis out (common practice, no source): it has a short at
 * that point, or one that would pull down the feed the point is. A short from a feed into a rail may leave the rail near its nominal
 * while it pulls the feed down, so the rail alone rules out no such short.
 */
export const isShortedAt = (hypothesis: Hypothesis, point: string, tree: PowerTree): boolean => {
  const source = feedBehind(point, tree) ?? point;
  // A fuse that has opened keeps the feed up at its connector whatever is behind it.
  const isCut = hypothesis.faults.some((fault) => fault.row.opens && fault.feed === point);
  return !isCut && hypothesis.faults.some((fault) => isShortOf(fault, point, source));
};

const isShortOf = (fault: PlacedFault, point: string, source: string): boolean =>
  fault.row.short &&
  ((fault.feed === source && loadsPlane(fault)) ||
    (fault.point === point && (fault.row.cold["at"] !== undefined || fault.row.volts !== undefined)));

const sumOf = (indices: readonly number[] | undefined, belief: readonly number[]): number =>
  (indices ?? []).reduce((sum, index) => sum + (belief[index] ?? 0), 0);

/** Belief in a short that the ohms of a point to ground would show. */
export const shortShownAt = (point: string, hypotheses: readonly Hypothesis[], belief: readonly number[]): number =>
  sumOf(membersOf(hypotheses).shown.get(point), belief);

/** Belief in a short from an input into the rail that is one of these two points, which shows nowhere but between them. */
export const shortBetween = (
  points: readonly string[],
  hypotheses: readonly Hypothesis[],
  belief: readonly number[],
): number =>
  hypotheses.reduce((sum, { faults }, index) => {
    const isHidden = faults.some(
      ({ row, point }) =>
        row.short &&
        point !== null &&
        points.includes(point) &&
        row.cold["in:at"] !== undefined &&
        row.cold["in"] === undefined &&
        row.cold["at"] === undefined,
    );
    return sum + (isHidden ? (belief[index] ?? 0) : 0);
  }, 0);

/** Belief in a short or leak at a point, or through it from its feed. */
export const shortOrLeakAt = (point: string, hypotheses: readonly Hypothesis[], belief: readonly number[]): number =>
  sumOf(membersOf(hypotheses).hunted.get(point), belief);

/** Belief that power would reach a short of any kind. */
export const shortProbability = (hypotheses: readonly Hypothesis[], belief: readonly number[]): number =>
  Math.min(
    1,
    hypotheses.reduce((sum, hypothesis, index) => sum + (hypothesis.isShort ? (belief[index] ?? 0) : 0), 0),
  );
