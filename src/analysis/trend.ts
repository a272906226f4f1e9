import { at } from "./at.ts";
import { medianOf } from "./quantile.ts";

/** Few enough that what comes and goes within a second or so stays out of the trend of a usual watch. */
const BINS = 12;
const LEAST_READINGS = 8;

/**
 * The slow course of a series: straight lines between the medians of up to 12 equal parts of it, going on to its
 * ends. Parts hold at least eight readings; a series of fewer than 16 has its median for a trend.
 */
export function trendOf(atMs: Float64Array, values: Float64Array): (atMs: number) => number {
  const n = values.length;
  const bins = Math.max(1, Math.min(BINS, Math.floor(n / LEAST_READINGS)));
  const times: number[] = [];
  const levels: number[] = [];
  for (let bin = 0; bin < bins; bin++) {
    const [from, to] = [Math.floor((bin * n) / bins), Math.floor(((bin + 1) * n) / bins)];
    times.push((at(atMs, from) + at(atMs, to - 1)) / 2);
    levels.push(medianOf(values.subarray(from, to)));
  }
  if (bins < 2) return () => at(levels, 0);
  let right = 1;
  return (ms) => {
    if (ms < at(times, right - 1)) right = 1;
    while (right < bins - 1 && at(times, right) < ms) right++;
    const [t0, t1] = [at(times, right - 1), at(times, right)];
    const share = (ms - t0) / (t1 - t0);
    // A climb goes on to its ends, and half a part further.
    return at(levels, right - 1) + Math.min(1.5, Math.max(-0.5, share)) * (at(levels, right) - at(levels, right - 1));
  };
}
