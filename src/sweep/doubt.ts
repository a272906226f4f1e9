import type { SweepCapture, SweepPoint } from "../../shared/sweep.ts";

/** Readings of nothing are alike; only above this can two that agree to the digit mean that the probe did not move, volts. */
const LEAST_VOLTS = 0.02;
/** Digits that agree where the probe stayed on the point before, as far as the noise lets them be read. */
const DIGITS = 4;

/** Why a value is worth a second look, and the point it would fit; null where it is not. */
export function doubtOf(
  point: SweepPoint,
  { value, standardError }: Pick<SweepCapture, "value" | "standardError">,
  points: readonly SweepPoint[],
  last: SweepCapture | null,
): { because: string; fits: string | null } | null {
  if (value === null) return null;
  const before = last === null ? undefined : points[last.index];
  if (
    point.quantity === "volts" &&
    Math.abs(value) > LEAST_VOLTS &&
    last !== null &&
    last.how !== "typed" &&
    last.value !== null &&
    before !== undefined &&
    before.rail !== point.rail &&
    Math.abs(value - last.value) <
      Math.max(halfDigit(value), 3 * Math.hypot(standardError ?? 0, last.standardError ?? 0))
  ) {
    return {
      because: `identical to the reading of ${before.rail} in every digit: was the probe moved?`,
      fits: before.rail,
    };
  }
  if (isWithin(point, value)) return null;
  const fitting = points
    .filter((each) => each.quantity === point.quantity && each.rail !== point.rail && each.expected !== 0)
    // A span without an end fits too much to mean anything.
    .filter((each) => each.low !== null && each.high !== null)
    .filter((each) => isWithin(each, value) && areApart(each, point))
    .sort((a, b) => Math.abs((a.expected ?? 0) - value) - Math.abs((b.expected ?? 0) - value))[0];
  if (fitting === undefined) return null;
  return {
    because: `not what ${point.rail} should read, but it fits ${fitting.rail}: is the probe on the right point?`,
    fits: fitting.rail,
  };
}

const halfDigit = (value: number): number => 10 ** (Math.floor(Math.log10(Math.abs(value))) - DIGITS + 1) / 2;

function isWithin(point: SweepPoint, value: number): boolean {
  const { low, high } = point;
  if (low === null && high === null) return point.expected === null;
  return (low === null || value >= low) && (high === null || value <= high);
}

/** True where no value fits both. */
function areApart(a: SweepPoint, b: SweepPoint): boolean {
  const low = (each: SweepPoint): number => each.low ?? Number.NEGATIVE_INFINITY;
  const high = (each: SweepPoint): number => each.high ?? Number.POSITIVE_INFINITY;
  return high(a) < low(b) || high(b) < low(a);
}
