import { at } from "./at.ts";
import { medianOf } from "./quantile.ts";

/** 1/Φ⁻¹(0.75): makes the median absolute deviation of normal values their standard deviation. */
const MAD_TO_SIGMA = 1.482602218505602;

/** Standard deviation from the median absolute deviation: outliers up to half of the values do not move it. */
export function madSigmaOf(values: ArrayLike<number>): number {
  const middle = medianOf(values);
  const off = new Float64Array(values.length);
  for (let i = 0; i < values.length; i++) off[i] = Math.abs(at(values, i) - middle);
  return MAD_TO_SIGMA * medianOf(off);
}

/**
 * Standard deviation of the noise from the differences of neighbours (MAD/√2), which steps and slow drift do not raise.
 * Noise that is correlated from reading to reading comes out too small. NaN for fewer than three values.
 */
export function noiseOf(values: ArrayLike<number>): number {
  if (values.length < 3) return Number.NaN;
  const steps = new Float64Array(values.length - 1);
  for (let i = 1; i < values.length; i++) steps[i - 1] = at(values, i) - at(values, i - 1);
  return madSigmaOf(steps) / Math.SQRT2;
}
