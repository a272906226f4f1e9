import { at } from "./at.ts";

/**
 * Share (0…1) of the variance of unevenly stamped values that a sine of this period takes up: the normalised
 * periodogram of Lomb 1976 and Scargle 1982 (Astrophys. J. 263, 835), with its time shift, so the moment the record
 * begins does not matter. `values` must be finite; 0 where they do not vary.
 */
export function lombScargle(atMs: Float64Array, values: Float64Array, periodMs: number): number {
  const n = values.length;
  const omega = (2 * Math.PI) / periodMs;
  const origin = at(atMs, 0);
  let mean = 0;
  for (const value of values) mean += value / n;
  let sin2 = 0;
  let cos2 = 0;
  for (let i = 0; i < n; i++) {
    const angle = 2 * omega * (at(atMs, i) - origin);
    sin2 += Math.sin(angle);
    cos2 += Math.cos(angle);
  }
  const tau = Math.atan2(sin2, cos2) / (2 * omega);
  let yc = 0;
  let ys = 0;
  let cc = 0;
  let ss = 0;
  let yy = 0;
  for (let i = 0; i < n; i++) {
    const angle = omega * (at(atMs, i) - origin - tau);
    const [cos, sin] = [Math.cos(angle), Math.sin(angle)];
    const off = at(values, i) - mean;
    yc += off * cos;
    ys += off * sin;
    cc += cos * cos;
    ss += sin * sin;
    yy += off * off;
  }
  if (yy === 0) return 0;
  return (yc ** 2 / Math.max(cc, 1e-9) + ys ** 2 / Math.max(ss, 1e-9)) / yy;
}
