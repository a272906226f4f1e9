import { at } from "./at.ts";

/** Time from the first reading until all later ones stay within `share` (0.02 = 2 %) of `level`, ms; null if the last does not. */
export function settlingMs(atMs: Float64Array, values: Float64Array, level: number, share = 0.02): number | null {
  const reach = Math.abs(level) * share;
  for (let i = values.length - 1; i >= 0; i--) {
    const value = at(values, i);
    if (Number.isFinite(value) && Math.abs(value - level) > reach) {
      return i === values.length - 1 ? null : at(atMs, i + 1) - at(atMs, 0);
    }
  }
  return values.length === 0 ? null : 0;
}
