import { at } from "../at.ts";
import { medianOf } from "../quantile.ts";

export interface Oscillation {
  beginsMs: number;
  /** From here on no pause is longer than `MOST_PAUSE` periods. */
  stableMs: number;
  periodMs: number;
  cycles: number;
}

const LEAST_CYCLES = 8;
/** A pause of a clock that is not one of its samples' making, in periods. */
const MOST_PAUSE = 2.5;
const REACH_SHARE = 0.2;

/** When a signal that goes to and fro began to, and from when on it did so without a pause; null where it does not. */
export function oscillationOf(atMs: Float64Array, values: Float64Array): Oscillation | null {
  let least = Number.POSITIVE_INFINITY;
  let most = Number.NEGATIVE_INFINITY;
  for (let i = 0; i < values.length; i++) {
    const value = at(values, i);
    if (value < least) least = value;
    if (value > most) most = value;
  }
  const [middle, reach] = [(least + most) / 2, REACH_SHARE * (most - least)];
  const rises: number[] = [];
  let isLow = false;
  for (let i = 0; i < values.length; i++) {
    const value = at(values, i);
    if (value < middle - reach) isLow = true;
    else if (isLow && value > middle + reach) {
      isLow = false;
      rises.push(at(atMs, i));
    }
  }
  const [first] = rises;
  if (first === undefined || rises.length < LEAST_CYCLES) return null;
  const periodMs = medianOf(rises.slice(1).map((each, index) => each - at(rises, index)));
  let stableMs = first;
  for (let i = 1; i < rises.length; i++)
    if (at(rises, i) - at(rises, i - 1) > MOST_PAUSE * periodMs) stableMs = at(rises, i);
  return { beginsMs: first, stableMs, periodMs, cycles: rises.length };
}
