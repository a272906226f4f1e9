import { at } from "./at.ts";
import { fourier } from "./fourier.ts";

/**
 * Autocorrelation of evenly spaced values at lags 0…n−1, each divided by its overlap, 1 at lag 0; n·log n by Fourier
 * transform. All zero where the values do not vary.
 */
export function autocorrelationOf(values: Float64Array): Float64Array {
  const n = values.length;
  let size = 1;
  while (size < 2 * n) size <<= 1;
  const real = new Float64Array(size);
  const imaginary = new Float64Array(size);
  let mean = 0;
  for (const value of values) mean += value / n;
  for (let i = 0; i < n; i++) real[i] = at(values, i) - mean;
  fourier(real, imaginary, false);
  for (let i = 0; i < size; i++) {
    real[i] = at(real, i) ** 2 + at(imaginary, i) ** 2;
    imaginary[i] = 0;
  }
  fourier(real, imaginary, true);
  const out = new Float64Array(n);
  const power = at(real, 0) / n;
  if (!(power > 1e-18 * size)) return out;
  for (let lag = 0; lag < n; lag++) out[lag] = at(real, lag) / (n - lag) / power;
  return out;
}
