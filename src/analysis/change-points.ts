import { at } from "./at.ts";
import { noiseOf } from "./noise.ts";

export interface ChangePointOptions {
  /** The saving in residual squares that one more change must bring; default `changePenaltyOf(values)`. */
  penalty?: number;
  /** Fewest values between two changes; default 1. */
  minLength?: number;
}

/**
 * Ends (exclusive) of the stretches with one mean each that together cost least: residual squares plus `penalty` a
 * change. The last end is `values.length`; empty for no values. Exact optimal partitioning with the pruning of Killick,
 * Fearnhead and Eckley 2012 (PELT); the worst case is quadratic, so hand in at most a few thousand values (`thinOut`).
 */
export function changePointsOf(values: ArrayLike<number>, options: ChangePointOptions = {}): number[] {
  const n = values.length;
  if (n === 0) return [];
  const minLength = Math.max(1, options.minLength ?? 1);
  const penalty = options.penalty ?? changePenaltyOf(values);
  const { sums, squares } = runningSums(values);
  const best = new Float64Array(n + 1).fill(Number.POSITIVE_INFINITY);
  const last = new Float64Array(n + 1);
  best[0] = -penalty;
  // Of one type, compacted in place, the cost written out: this is the one loop of the analysis that is worse than linear.
  const open = new Float64Array(n + 1);
  const totals = new Float64Array(n + 1);
  let count = 0;
  for (let end = minLength; end <= n; end++) {
    const start = end - minLength;
    if (Number.isFinite(of(best, start))) open[count++] = start;
    let least = Number.POSITIVE_INFINITY;
    const [endSum, endSquares] = [of(sums, end), of(squares, end)];
    for (let each = 0; each < count; each++) {
      const from = of(open, each);
      const sum = endSum - of(sums, from);
      const total = of(best, from) + Math.max(0, endSquares - of(squares, from) - (sum * sum) / (end - from));
      totals[each] = total;
      if (total + penalty < least) {
        least = total + penalty;
        last[end] = from;
      }
    }
    best[end] = least;
    // A start that already costs more than the best can never win later: residual squares only grow.
    let kept = 0;
    for (let each = 0; each < count; each++) if (of(totals, each) <= least) open[kept++] = of(open, each);
    count = kept;
  }
  const ends: number[] = [];
  for (let end = n; end > 0; end = of(last, end)) {
    ends.push(end);
    if (!Number.isFinite(of(best, end))) return [n];
  }
  return ends.reverse();
}

/** A penalty that noise alone seldom pays: 3·σ²·ln n, σ from neighbours' differences and at least `floor`. */
export function changePenaltyOf(values: ArrayLike<number>, floor = 0): number {
  const noise = noiseOf(values);
  const sigma = Math.max(Number.isFinite(noise) ? noise : 0, floor, 1e-12);
  return 3 * sigma * sigma * Math.log(Math.max(2, values.length));
}

/** Running sums, taken about the first value so that a small spread on a large level is not lost. */
function runningSums(values: ArrayLike<number>): { sums: Float64Array; squares: Float64Array } {
  const n = values.length;
  const sums = new Float64Array(n + 1);
  const squares = new Float64Array(n + 1);
  const origin = at(values, 0);
  for (let i = 0; i < n; i++) {
    const value = at(values, i) - origin;
    sums[i + 1] = of(sums, i) + value;
    squares[i + 1] = of(squares, i) + value * value;
  }
  return { sums, squares };
}

/** `at` for one type only, which runs several times quicker. */
const of = (values: Float64Array, index: number): number => values[index] ?? Number.NaN;
