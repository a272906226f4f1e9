import { at } from "../at.ts";

export interface Dip {
  atMs: number;
  lengthMs: number;
  lowest: number;
}

/**
 * Falls of a signal under `floor` from sample `from` on, each until it is above again; `reach` is what it has to go beyond the
 * floor, either way. A fall that does not come back before the end is not among them: `endsLow` says so.
 */
export function dipsUnder(
  atMs: Float64Array,
  values: Float64Array,
  { floor, reach, from }: { floor: number; reach: number; from: number },
): { dips: Dip[]; endsLow: boolean } {
  const dips: Dip[] = [];
  let startMs: number | null = null;
  let lowest = Number.POSITIVE_INFINITY;
  for (let i = from; i < values.length; i++) {
    const value = at(values, i);
    if (startMs === null) {
      if (value >= floor - reach || Number.isNaN(value)) continue;
      startMs = at(atMs, i);
      lowest = value;
    } else if (value > floor + reach) {
      dips.push({ atMs: startMs, lengthMs: at(atMs, i) - startMs, lowest });
      startMs = null;
    } else if (value < lowest) lowest = value;
  }
  return { dips, endsLow: startMs !== null };
}
