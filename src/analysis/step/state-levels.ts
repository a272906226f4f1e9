import { at } from "../at.ts";
import { medianOf } from "../quantile.ts";

/** The two states of a step: its levels, and how far it goes between them. */
export interface StateLevels {
  low: number;
  high: number;
}

const BINS = 256;
/** Values this many bins around the mode make the level, or within this many standard deviations of noise. */
const AROUND_BINS = 1.5;
const AROUND_SIGMAS = 3;

/**
 * The low and the high state by the histogram mode method (IEEE Std 181-2011, 5.2.1): the mode of the lower and of the upper half
 * of the values, each refined to the median of the values about it. `noise` is the standard deviation of the values about a state.
 * null where there are fewer than three values, or all are the same.
 */
export function stateLevelsOf(values: ArrayLike<number>, noise = 0): StateLevels | null {
  let least = Number.POSITIVE_INFINITY;
  let most = Number.NEGATIVE_INFINITY;
  let n = 0;
  for (let i = 0; i < values.length; i++) {
    const value = at(values, i);
    if (!Number.isFinite(value)) continue;
    n++;
    if (value < least) least = value;
    if (value > most) most = value;
  }
  if (n < 3 || !(most > least)) return null;
  const width = (most - least) / BINS;
  const counts = new Float64Array(BINS);
  for (let i = 0; i < values.length; i++) {
    const bin = Math.min(BINS - 1, Math.floor((at(values, i) - least) / width));
    if (bin >= 0) counts[bin] = at(counts, bin) + 1;
  }
  const reach = Math.max(AROUND_BINS * width, AROUND_SIGMAS * noise);
  const half = BINS / 2;
  const level = (bin: number): number => levelAround(values, least + (bin + 0.5) * width, reach);
  return { low: level(modeOf(counts, 0, half)), high: level(modeOf(counts, half, BINS)) };
}

/** The fullest bin; of equal ones the outermost, since a step ends in its states. */
function modeOf(counts: Float64Array, from: number, to: number): number {
  const isUpper = from > 0;
  let best = isUpper ? to - 1 : from;
  for (let step = 1; step < to - from; step++) {
    const bin = isUpper ? to - 1 - step : from + step;
    if (at(counts, bin) > at(counts, best)) best = bin;
  }
  return best;
}

function levelAround(values: ArrayLike<number>, mode: number, reach: number): number {
  const near = new Float64Array(values.length);
  let n = 0;
  for (let i = 0; i < values.length; i++) {
    const value = at(values, i);
    if (Math.abs(value - mode) <= reach) near[n++] = value;
  }
  return n === 0 ? mode : medianOf(near.subarray(0, n));
}
