/**
 * Share (0…1) of the variance of unevenly stamped values that a sine of this period takes up: the normalised
 * periodogram of Lomb 1976 and Scargle 1982 (Astrophys. J. 263, 835), with its time shift, so the moment the record
 * begins does not matter. `values` must be finite; 0 where they do not vary.
 */
export function lombScargle(atMs: Float64Array, values: Float64Array, periodMs: number): number {
  const n = values.length;
  const omega = (2 * Math.PI) / periodMs;
  const origin = of(atMs, 0);
  let mean = 0;
  for (const value of values) mean += value / n;
  // One sine and cosine a value: the sums about the shifted origin follow by turning through it.
  let [yc, ys, yy, cc, ss, cs] = [0, 0, 0, 0, 0, 0];
  for (let i = 0; i < n; i++) {
    const angle = omega * (of(atMs, i) - origin);
    const cos = Math.cos(angle);
    const sin = Math.sin(angle);
    const off = of(values, i) - mean;
    yc += off * cos;
    ys += off * sin;
    yy += off * off;
    cc += cos * cos;
    ss += sin * sin;
    cs += cos * sin;
  }
  if (yy === 0) return 0;
  const shift = Math.atan2(2 * cs, cc - ss) / 2;
  const [c, s] = [Math.cos(shift), Math.sin(shift)];
  const turnedCc = c * c * cc + 2 * c * s * cs + s * s * ss;
  const turnedSs = n - turnedCc;
  return ((yc * c + ys * s) ** 2 / Math.max(turnedCc, 1e-9) + (ys * c - yc * s) ** 2 / Math.max(turnedSs, 1e-9)) / yy;
}

const of = (values: Float64Array, index: number): number => values[index] ?? Number.NaN;
