import { at } from "./at.ts";
import { medianOf, quantileOf } from "./quantile.ts";

export interface Pulses {
  count: number;
  /** Level between the pulses and typical height above it. */
  baseLevel: number;
  height: number;
  /** Share of the readings above half height. */
  duty: number;
  /** Mean number of readings in a pulse. */
  readingsEach: number;
  /** Median time from one pulse's beginning to the next, and the widest departure from it that nine of ten keep to, ms. */
  spacingMs: number;
  spacingSpreadMs: number;
}

/**
 * The pulses that stand out of a level by `leastHeight` or more; null where there are fewer than two. The level is the
 * lower fifth of the readings, so it holds for duties up to about 70 %.
 */
export function pulsesOf(atMs: Float64Array, values: Float64Array, leastHeight: number): Pulses | null {
  const baseLevel = quantileOf(values, 0.2);
  const tops = runsAbove(values, baseLevel + leastHeight).map(({ top }) => top - baseLevel);
  if (tops.length < 2) return null;
  const height = medianOf(tops);
  const threshold = baseLevel + Math.max(leastHeight, height / 2);
  const runs = runsAbove(values, threshold);
  if (runs.length < 2) return null;
  const starts = runs.map(({ from }) => at(atMs, from));
  const spacings = starts.slice(1).map((start, index) => start - at(starts, index));
  const spacingMs = medianOf(spacings);
  const readings = runs.reduce((sum, { from, to }) => sum + to - from, 0);
  return {
    count: runs.length,
    baseLevel,
    height,
    duty: values.reduce((above, value) => above + (value > threshold ? 1 : 0), 0) / values.length,
    readingsEach: readings / runs.length,
    spacingMs,
    spacingSpreadMs: quantileOf(
      spacings.map((spacing) => Math.abs(spacing - spacingMs)),
      0.9,
    ),
  };
}

function runsAbove(values: Float64Array, threshold: number): { from: number; to: number; top: number }[] {
  const runs: { from: number; to: number; top: number }[] = [];
  let from = -1;
  let top = Number.NEGATIVE_INFINITY;
  for (let i = 0; i <= values.length; i++) {
    const value = at(values, i);
    if (value > threshold) {
      if (from < 0) from = i;
      top = Math.max(top, value);
    } else if (from >= 0) {
      // A pulse cut off by the beginning or the end of the record has no length and no spacing.
      if (from > 0 && i < values.length) runs.push({ from, to: i, top });
      from = -1;
      top = Number.NEGATIVE_INFINITY;
    }
  }
  return runs;
}
