import type { Hypothesis } from "./hypotheses.ts";

const known = new WeakMap<readonly Hypothesis[], Map<string, number[]>>();

/** Hypotheses with a short or leak at each point, or through it from its feed; worked out once for a list. */
function membersOf(hypotheses: readonly Hypothesis[]): Map<string, number[]> {
  const found = known.get(hypotheses);
  if (found !== undefined) return found;
  const members = new Map<string, number[]>();
  hypotheses.forEach((hypothesis, index) => {
    const points = new Set<string>();
    for (const { row, kind, point, feed } of hypothesis.faults) {
      if (!row.short && kind !== "leaky") continue;
      if (point !== null) points.add(point);
      if (feed !== null && row.cold["in"] !== undefined) points.add(feed);
    }
    for (const point of points) members.set(point, [...(members.get(point) ?? []), index]);
  });
  known.set(hypotheses, members);
  return members;
}

/** Belief in a short or leak at a point, or through it from its feed. */
export const shortAt = (point: string, hypotheses: readonly Hypothesis[], belief: readonly number[]): number =>
  (membersOf(hypotheses).get(point) ?? []).reduce((sum, index) => sum + (belief[index] ?? 0), 0);

/** Belief that power would reach a short of any kind. */
export const shortProbability = (hypotheses: readonly Hypothesis[], belief: readonly number[]): number =>
  Math.min(
    1,
    hypotheses.reduce((sum, hypothesis, index) => sum + (hypothesis.isShort ? (belief[index] ?? 0) : 0), 0),
  );
