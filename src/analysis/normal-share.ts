/**
 * Φ(x): share of a normal distribution below x standard deviations. Absolute error under 1e-15 in the middle: the
 * series of erf up to 3, its continued fraction beyond (Abramowitz and Stegun 7.1.6 and 7.1.14).
 */
export function normalShareBelow(x: number): number {
  if (Number.isNaN(x)) return Number.NaN;
  const z = Math.abs(x) / Math.SQRT2;
  let upper: number;
  if (z < 3) {
    let term = z;
    let sum = z;
    for (let n = 1; n < 200 && term > 1e-18 * sum; n++) {
      term *= (2 * z * z) / (2 * n + 1);
      sum += term;
    }
    upper = 0.5 - (sum * Math.exp(-z * z)) / Math.sqrt(Math.PI);
  } else {
    let fraction = z;
    for (let k = 60; k >= 1; k--) fraction = z + k / 2 / fraction;
    upper = Math.exp(-z * z) / Math.sqrt(Math.PI) / fraction / 2;
  }
  return x > 0 ? 1 - upper : upper;
}
