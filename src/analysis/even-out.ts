import { at } from "./at.ts";
import { readIntervalOf } from "./read-interval.ts";
import type { Series } from "./thin-out.ts";

/** Straight lines between readings, read every `intervalMs` from the first reading on; at most `most` values. */
export function onGrid(atMs: Float64Array, values: Float64Array, intervalMs: number, most: number): Float64Array {
  const start = at(atMs, 0);
  const cells = Math.min(most, Math.floor((at(atMs, atMs.length - 1) - start) / intervalMs) + 1);
  const grid = new Float64Array(cells);
  let right = 1;
  for (let cell = 0; cell < cells; cell++) {
    const now = start + cell * intervalMs;
    while (right < atMs.length - 1 && at(atMs, right) < now) right++;
    const [t0, t1] = [at(atMs, right - 1), at(atMs, right)];
    const share = t1 > t0 ? Math.min(1, Math.max(0, (now - t0) / (t1 - t0))) : 1;
    grid[cell] = at(values, right - 1) * (1 - share) + at(values, right) * share;
  }
  return grid;
}

/** `evenOut` of the values that are numbers. */
export function evenFinite(atMs: Float64Array, values: Float64Array, thinned = false): Series {
  if (values.every(Number.isFinite)) return evenOut(atMs, values, thinned);
  const keep = (_: number, index: number) => Number.isFinite(at(values, index));
  return evenOut(atMs.filter(keep), values.filter(keep), thinned);
}

/** An uneven record gets this many even values. */
const EVEN_POINTS = 20_000;

/**
 * The series itself where its readings come at an even pace, give or take jitter and a few gaps; else even readings of
 * it. A circuit simulator's steps are a thousand times closer at an edge than on a level, and levels, medians and duties
 * that count readings would judge the edges. `thinned`: rows of the record stand for different times, so it is never even.
 * Values must be finite.
 */
export function evenOut(atMs: Float64Array, values: Float64Array, thinned = false): Series {
  const n = atMs.length;
  const lengthMs = at(atMs, n - 1) - at(atMs, 0);
  const interval = readIntervalOf(atMs);
  if (n < 20 || interval === null || !(thinned || lengthMs / (n - 1) > 3 * interval)) return { atMs, values };
  const step = lengthMs / EVEN_POINTS;
  const grid = onGrid(atMs, values, step, EVEN_POINTS + 1);
  return { atMs: grid.map((_, i) => at(atMs, 0) + i * step), values: grid };
}
