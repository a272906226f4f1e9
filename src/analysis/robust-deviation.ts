import { at } from "./at.ts";
import { medianOf } from "./quantile.ts";

/** The median absolute deviation of a normal distribution is its standard deviation over this (1/Φ⁻¹(3/4)). */
const NORMAL = 1.482602;
/** Values drawn to learn how deviations of good points scatter: a chance of 5 % is known to 0.05 %. */
const DRAWN = 200_000;

export interface RobustDeviations {
  median: number;
  /** 1.4826 times the median absolute deviation, not under the floor. */
  sigma: number;
  /** |value − median| over sigma. */
  deviations: number[];
  /** Chance that a point of a group of so many normal values deviates as much or more. */
  pValues: number[];
}

/**
 * The distance of each value from the middle of its group, by median and median absolute deviation, which up to half of the values cannot move.
 * `floor` is the least spread to reckon with, in the values' unit. In a small group the deviation itself is uncertain, so that the normal
 * distribution would call good points outliers: the chances come from groups of as many normal values, drawn once with a fixed seed.
 * Needs three values or more, all finite.
 */
export function robustDeviations(values: readonly number[], floor = 0): RobustDeviations {
  const median = medianOf(values);
  const spread = NORMAL * medianOf(values.map((value) => Math.abs(value - median)));
  const sigma = Math.hypot(spread, floor);
  const deviations = values.map((value) => {
    const off = Math.abs(value - median);
    return off === 0 ? 0 : off / sigma;
  });
  const drawn = drawnDeviations(values.length);
  return { median, sigma, deviations, pValues: deviations.map((each) => chanceAbove(drawn, each)) };
}

const known = new Map<number, Float64Array>();

/** Deviations of all points of drawn groups of `n`, rising. */
function drawnDeviations(n: number): Float64Array {
  const before = known.get(n);
  if (before !== undefined) return before;
  const normal = normals(n);
  const groups = Math.ceil(DRAWN / n);
  const all = new Float64Array(groups * n);
  for (let group = 0; group < groups; group++) {
    const values = Float64Array.from({ length: n }, normal);
    const median = medianOf(values);
    const off = values.map((value) => Math.abs(value - median));
    const sigma = NORMAL * medianOf(off);
    for (let each = 0; each < n; each++) all[group * n + each] = at(off, each) / sigma;
  }
  all.sort();
  known.set(n, all);
  return all;
}

/** Share of drawn deviations at or above this one; never nought, since a share under one of all drawn is not known. */
function chanceAbove(drawn: Float64Array, deviation: number): number {
  let [low, high] = [0, drawn.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (at(drawn, middle) < deviation) low = middle + 1;
    else high = middle;
  }
  return Math.max(1, drawn.length - low) / drawn.length;
}

/** Standard normal numbers, the same for the same seed. Method: mulberry32, then Box and Muller (both from memory). */
function normals(seed: number): () => number {
  let state = (seed * 0x9e3779b9) >>> 0;
  const next = (): number => {
    state = (state + 0x6d2b79f5) >>> 0;
    let mixed = state;
    mixed = Math.imul(mixed ^ (mixed >>> 15), mixed | 1);
    mixed ^= mixed + Math.imul(mixed ^ (mixed >>> 7), mixed | 61);
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 4_294_967_296;
  };
  return () => Math.sqrt(-2 * Math.log(1 - next())) * Math.cos(2 * Math.PI * next());
}
