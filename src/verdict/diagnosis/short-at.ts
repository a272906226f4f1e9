import type { Hypothesis } from "./hypotheses.ts";

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

const sumOf = (indices: readonly number[] | undefined, belief: readonly number[]): number =>
  (indices ?? []).reduce((sum, index) => sum + (belief[index] ?? 0), 0);

/** Belief in a short that the ohms of a point to ground would show. */
export const shortShownAt = (point: string, hypotheses: readonly Hypothesis[], belief: readonly number[]): number =>
  sumOf(membersOf(hypotheses).shown.get(point), belief);

/** Belief in a short or leak at a point, or through it from its feed. */
export const shortOrLeakAt = (point: string, hypotheses: readonly Hypothesis[], belief: readonly number[]): number =>
  sumOf(membersOf(hypotheses).hunted.get(point), belief);

/** Belief that power would reach a short of any kind. */
export const shortProbability = (hypotheses: readonly Hypothesis[], belief: readonly number[]): number =>
  Math.min(
    1,
    hypotheses.reduce((sum, hypothesis, index) => sum + (hypothesis.isShort ? (belief[index] ?? 0) : 0), 0),
  );
