import { at } from "./at.ts";
import { medianOf } from "./quantile.ts";

/** The median time between readings, milliseconds; null for fewer than two. A trace longer than 20,000 is judged by its first ones. */
export function readIntervalOf(atMs: Float64Array): number | null {
  const n = Math.min(atMs.length, 20_000);
  if (n < 2) return null;
  const gaps = new Float64Array(n - 1);
  for (let i = 1; i < n; i++) gaps[i - 1] = at(atMs, i) - at(atMs, i - 1);
  const interval = medianOf(gaps);
  return interval > 0 ? interval : null;
}
