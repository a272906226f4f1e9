import type { Evidence } from "./evidence.ts";
import { type Hypothesis, hypothesisOf } from "./hypotheses.ts";

/** A reading this unlikely under the best single fault is not explained by it. */
const UNEXPLAINED = 0.15;
/** The number of single faults that are paired for each reading; more would cost time and find nothing. */
const FOR_EACH = 5;

/**
 * Pairs of independent faults worth thinking of: where the best hypothesis leaves a reading unexplained, the faults that
 * explain each such reading best, with each other and with the best. `independentPair` is the share of jobs with a second fault.
 */
export function independentPairs(
  hypotheses: readonly Hypothesis[],
  posterior: readonly number[],
  evidence: readonly Evidence[],
  independentPair: number,
): Hypothesis[] {
  const best = posterior.indexOf(Math.max(...posterior));
  const open = evidence.filter((each) => (each.likelihood[best] ?? 0) < UNEXPLAINED);
  const singles = hypotheses.map((_, index) => index).filter((index) => hypotheses[index]?.faults.length === 1);
  const chosen = new Set<number>();
  // The readings that the best leaves open, and those that it explains better than others do, are both ends of a pair.
  const explains = evidence.filter((each) => (each.likelihood[best] ?? 0) > 3 * meanOf(each.likelihood));
  if (open.length === 0) return [];
  for (const each of [...open, ...explains]) {
    const score = (index: number): number => (each.likelihood[index] ?? 0) * (hypotheses[index]?.prior ?? 0);
    for (const index of [...singles].sort((a, b) => score(b) - score(a)).slice(0, FOR_EACH)) chosen.add(index);
  }
  const known = new Set(hypotheses.map((hypothesis) => hypothesis.id));
  const pairs: Hypothesis[] = [];
  const list = [...chosen];
  list.forEach((a, at) => {
    for (const b of list.slice(at + 1)) {
      const [first, second] = [hypotheses[a], hypotheses[b]];
      const [one, two] = [first?.faults[0], second?.faults[0]];
      if (first === undefined || second === undefined || one === undefined || two === undefined) continue;
      if (one.element === two.element) continue;
      const pair = hypothesisOf([one, two], 2 * independentPair * first.prior * second.prior);
      if (!known.has(pair.id) && !known.has(hypothesisOf([two, one], 0).id)) pairs.push(pair);
    }
  });
  return pairs;
}

const meanOf = (values: readonly number[]): number =>
  values.reduce((sum, each) => sum + each, 0) / Math.max(1, values.length);
