import { madSigmaOf } from "./noise.ts";
import { medianOf } from "./quantile.ts";

export interface PlateauLevel {
  mean: number;
  /** Standard error of the mean, widened for readings that follow each other; NaN for fewer than two. */
  stdError: number;
  /** Standard deviation of one reading. */
  stdDev: number;
  /** The number of independent readings that the plateau is worth. */
  effectiveN: number;
}

/**
 * The level of a stretch that is held to be flat: the mean of what lies within 4 robust deviations of the median, and
 * its standard error with the integrated autocorrelation time (window of five such times, Sokal's rule, from memory).
 * `resolution` is the reading's step: a spread below step/√12 cannot be known to be smaller. Not finite values are left out.
 */
export function plateauLevelOf(values: ArrayLike<number>, resolution = 0): PlateauLevel {
  const middle = medianOf(values);
  const reach = Math.max(4 * madSigmaOf(values), 1.5 * resolution, 1e-9 * Math.abs(middle));
  const kept: number[] = [];
  for (let i = 0; i < values.length; i++) {
    const value = values[i] ?? Number.NaN;
    if (Math.abs(value - middle) <= reach) kept.push(value - middle);
  }
  const n = kept.length;
  if (n === 0) return { mean: Number.NaN, stdError: Number.NaN, stdDev: Number.NaN, effectiveN: 0 };
  const offset = kept.reduce((sum, value) => sum + value, 0) / n;
  let squares = 0;
  for (const value of kept) squares += (value - offset) ** 2;
  const time = autocorrelationTime(kept, offset);
  const effectiveN = Math.max(1, n / time);
  const stdDev = Math.max(Math.sqrt(squares / Math.max(1, n - 1)), resolution / Math.sqrt(12));
  return {
    mean: middle + offset,
    stdError: n < 2 ? Number.NaN : stdDev / Math.sqrt(effectiveN),
    stdDev,
    effectiveN,
  };
}

/** More values than this say no more about how they follow each other. */
const MOST_FOR_CORRELATION = 20_000;

/** 1 + 2Σρ(k), summed until the lag passes five times the sum; at most 400 lags of the first 20,000 values: the work stays linear. */
function autocorrelationTime(kept: readonly number[], mean: number): number {
  const off = Float64Array.from(kept.length > MOST_FOR_CORRELATION ? kept.slice(0, MOST_FOR_CORRELATION) : kept);
  let squares = 0;
  for (let i = 0; i < off.length; i++) {
    const value = of(off, i) - mean;
    off[i] = value;
    squares += value * value;
  }
  if (squares === 0) return 1;
  let time = 1;
  const longest = Math.min(400, off.length >> 2);
  for (let lag = 1; lag <= longest && lag < 5 * time; lag++) {
    let product = 0;
    for (let i = lag; i < off.length; i++) product += of(off, i) * of(off, i - lag);
    time = Math.max(1, time + (2 * product) / squares);
  }
  return time;
}

const of = (values: Float64Array, index: number): number => values[index] ?? Number.NaN;
