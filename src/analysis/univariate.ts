import { at } from "./at.ts";

export interface Univariate {
  n: number;
  mean: number;
  /** With n − 1; NaN for fewer than two values. */
  stdDev: number;
  /** Σ(yᵢ−m)(yᵢ₊₁−m)/Σ(yᵢ−m)²; NaN where every value is the same. */
  lag1: number;
}

/**
 * Mean, standard deviation and lag-1 autocorrelation of `values` that are all finite. Exact to about the last digit for
 * small spreads on a large mean: everything is taken from the first value, sums carry their rounding (Neumaier), and the
 * spread is the corrected two-pass sum. Checked against the certified values of NIST StRD.
 */
export function univariateOf(values: ArrayLike<number>): Univariate {
  const n = values.length;
  if (n === 0) return { n, mean: Number.NaN, stdDev: Number.NaN, lag1: Number.NaN };
  const origin = at(values, 0);
  let sum = 0;
  let lost = 0;
  for (let i = 0; i < n; i++) {
    const value = at(values, i) - origin;
    const next = sum + value;
    lost += Math.abs(sum) >= Math.abs(value) ? sum - next + value : value - next + sum;
    sum = next;
  }
  const shift = (sum + lost) / n;
  let squares = 0;
  let products = 0;
  let residue = 0;
  let before = 0;
  for (let i = 0; i < n; i++) {
    const off = at(values, i) - origin - shift;
    squares += off * off;
    residue += off;
    if (i > 0) products += before * off;
    before = off;
  }
  const spread = squares - (residue * residue) / n;
  return {
    n,
    mean: origin + shift,
    stdDev: n < 2 ? Number.NaN : Math.sqrt(spread / (n - 1)),
    lag1: squares === 0 ? Number.NaN : products / squares,
  };
}
