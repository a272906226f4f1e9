import { at } from "./at.ts";
import { medianOf } from "./quantile.ts";

export interface Drift {
  /** Slopes of the whole and of each half, units a minute. */
  perMin: number;
  firstHalfPerMin: number;
  secondHalfPerMin: number;
  /** The values of a straight line at the beginning and at the end. */
  startLevel: number;
  endLevel: number;
  lengthMs: number;
}

const BINS = 40;

/**
 * The movement of a level: a robust line (Theil–Sen: the median of the slopes between medians of up to 40 bins) over the
 * whole and over each half, whose difference is the curvature. Null for fewer than eight finite values or no time
 * between them. Linear in the samples.
 */
export function driftOf(atMs: Float64Array, values: Float64Array): Drift | null {
  const times: number[] = [];
  const finite: number[] = [];
  for (let i = 0; i < values.length; i++) {
    if (!Number.isFinite(at(values, i))) continue;
    times.push(at(atMs, i));
    finite.push(at(values, i));
  }
  const n = finite.length;
  const lengthMs = at(times, n - 1) - at(times, 0);
  if (n < 8 || !(lengthMs > 0)) return null;
  const bins = Math.min(BINS, n);
  const x: number[] = [];
  const y: number[] = [];
  for (let bin = 0; bin < bins; bin++) {
    const [from, to] = [Math.floor((bin * n) / bins), Math.floor(((bin + 1) * n) / bins)];
    x.push(medianOf(times.slice(from, to)));
    y.push(medianOf(finite.slice(from, to)));
  }
  const half = bins >> 1;
  const perMs = slopeOf(x, y);
  const offset = medianOf(y.map((value, index) => value - perMs * at(x, index)));
  return {
    perMin: perMs * 60_000,
    firstHalfPerMin: slopeOf(x.slice(0, half), y.slice(0, half)) * 60_000,
    secondHalfPerMin: slopeOf(x.slice(half), y.slice(half)) * 60_000,
    startLevel: offset + perMs * at(times, 0),
    endLevel: offset + perMs * at(times, n - 1),
    lengthMs,
  };
}

function slopeOf(x: readonly number[], y: readonly number[]): number {
  const slopes: number[] = [];
  for (let i = 0; i < x.length; i++) {
    for (let j = i + 1; j < x.length; j++) {
      const apart = at(x, j) - at(x, i);
      if (apart > 0) slopes.push((at(y, j) - at(y, i)) / apart);
    }
  }
  return slopes.length === 0 ? 0 : medianOf(slopes);
}
