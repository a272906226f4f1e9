import { at } from "./at.ts";
import { changePenaltyOf, changePointsOf } from "./change-points.ts";
import { noiseOf } from "./noise.ts";
import { medianOf } from "./quantile.ts";
import { thinOut } from "./thin-out.ts";

/** A stretch between two abrupt changes; indices into the series that was handed in. */
export interface LevelStretch {
  from: number;
  to: number;
  level: number;
  startMs: number;
  endMs: number;
}

/** More points than this are binned before the search, which keeps it linear. */
const MOST_POINTS = 2048;

/**
 * The levels a current stayed at, in order, split only where it jumped: a change counts when neighbours three readings
 * apart show most of it, so a slow climb is one stretch and not a staircase. `leastJump` is the smallest jump of interest;
 * jumps under 5 robust deviations of the noise are never taken. Linear in the samples. Empty for fewer than two values.
 */
export function levelStretchesOf(atMs: Float64Array, values: Float64Array, leastJump: number): LevelStretch[] {
  const thin = thinOut(atMs, values, MOST_POINTS);
  const n = thin.values.length;
  if (n < 2) return [];
  const noise = noiseOf(thin.values);
  const jump = Math.max(leastJump, 5 * (Number.isFinite(noise) ? noise : 0));
  const ends = changePointsOf(thin.values, {
    penalty: changePenaltyOf(thin.values, leastJump / 6),
    minLength: n >= 12 ? 3 : 1,
  });
  const levelOf = (from: number, to: number) => medianOf(thin.values.subarray(from, to));
  const cuts: number[] = [];
  let start = 0;
  for (let each = 0; each < ends.length - 1; each++) {
    const end = at(ends, each);
    const before = levelOf(start, end);
    const after = levelOf(end, at(ends, each + 1));
    const near = levelOf(end, Math.min(n, end + 3)) - levelOf(Math.max(0, end - 3), end);
    // The same way: a dip in a climb goes against it.
    if (Math.abs(after - before) >= jump && near / (after - before) >= 0.6) {
      cuts.push(end);
      start = end;
    }
  }
  cuts.push(n);
  const stretches: LevelStretch[] = [];
  let from = 0;
  let rawFrom = 0;
  for (const cut of cuts) {
    const startMs = at(thin.atMs, from);
    const nextMs = at(thin.atMs, cut);
    let rawTo = rawFrom;
    if (Number.isNaN(nextMs)) rawTo = atMs.length;
    else while (rawTo < atMs.length && at(atMs, rawTo) < nextMs) rawTo++;
    stretches.push({ from: rawFrom, to: rawTo, level: levelOf(from, cut), startMs, endMs: at(thin.atMs, cut - 1) });
    from = cut;
    rawFrom = rawTo;
  }
  return stretches;
}
