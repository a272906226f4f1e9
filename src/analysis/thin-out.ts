import { at } from "./at.ts";

export interface Series {
  atMs: Float64Array;
  values: Float64Array;
}

/**
 * The same stretch with at most `most` points: means of equal numbers of neighbours, stamped with their mean time.
 * Values that are not finite are dropped. Keeps what follows it linear, however long the trace.
 */
export function thinOut(atMs: Float64Array, values: Float64Array, most: number): Series {
  let n = 0;
  for (let i = 0; i < values.length; i++) if (Number.isFinite(at(values, i))) n++;
  const each = Math.max(1, Math.ceil(n / most));
  const thin: Series = { atMs: new Float64Array(Math.ceil(n / each)), values: new Float64Array(Math.ceil(n / each)) };
  let bin = 0;
  let held = 0;
  let time = 0;
  let sum = 0;
  const flush = () => {
    thin.atMs[bin] = time / held;
    thin.values[bin++] = sum / held;
    held = time = sum = 0;
  };
  for (let i = 0; i < values.length; i++) {
    const value = at(values, i);
    if (!Number.isFinite(value)) continue;
    time += at(atMs, i);
    sum += value;
    if (++held === each) flush();
  }
  if (held > 0) flush();
  return thin;
}
