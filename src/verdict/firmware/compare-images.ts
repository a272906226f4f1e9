import type { FirmwareRegion } from "../../../shared/record/firmware-image.ts";

/** Differences that lie closer than this are one region, bytes. */
const GAP = 16;
const MOST_REGIONS = 200;

export interface ImageComparison {
  regions: FirmwareRegion[];
  /** Bytes that differ from the nearest good one. */
  differing: number;
}

/**
 * The places where a dump differs from the good one nearest to it, and whether good ones differ there among each other, as serial numbers and
 * calibration do. Bytes that one has and the other has not count as different. `good` holds at least one.
 */
export function compareImages(bytes: Uint8Array, good: readonly Uint8Array[]): ImageComparison {
  let nearest = good[0] ?? new Uint8Array(0);
  let least = Number.POSITIVE_INFINITY;
  for (const each of good) {
    const differing = differencesOf(bytes, each).reduce((sum, [from, to]) => sum + to - from, 0);
    if (differing < least) [nearest, least] = [each, differing];
  }
  const regions = differencesOf(bytes, nearest).map(([offset, end]) => ({
    offset,
    bytes: end - offset,
    variesOnGood: good.length < 2 ? null : variesWithin(good, offset, end),
  }));
  return { regions: regions.slice(0, MOST_REGIONS), differing: least };
}

function differencesOf(one: Uint8Array, other: Uint8Array): [from: number, to: number][] {
  const runs: [number, number][] = [];
  const length = Math.max(one.length, other.length);
  for (let i = 0; i < length; i++) {
    if (one[i] === other[i]) continue;
    const last = runs.at(-1);
    if (last !== undefined && i - last[1] < GAP) last[1] = i + 1;
    else runs.push([i, i + 1]);
  }
  return runs;
}

/** Whether every byte of the region lies within `GAP` of one in which good ones differ. */
function variesWithin(good: readonly Uint8Array[], from: number, to: number): boolean {
  const [first] = good;
  const varying: number[] = [];
  for (let i = Math.max(0, from - GAP); i < to + GAP; i++)
    if (good.some((each) => each[i] !== first?.[i])) varying.push(i);
  const [start, end] = [varying[0], varying.at(-1)];
  if (start === undefined || end === undefined || start - from > GAP || to - 1 - end > GAP) return false;
  return varying.every((each, index) => index === 0 || each - (varying[index - 1] ?? each) <= 2 * GAP);
}
