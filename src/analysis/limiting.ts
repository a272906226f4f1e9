import { at } from "./at.ts";

export interface LimitingInput {
  atMs: Float64Array;
  volts: Float64Array;
  amps: Float64Array;
  mode: Uint8Array | null;
  /** NaN or null where it is not known. */
  limitAmps: Float64Array | null;
  setVolts: Float64Array | null;
  stepAmps: number;
}

/** Without a status of the supply, volts under this share of the set-point together with the limit's amps are limiting. */
const LOW_SHARE = 0.97;
/** A status "cv" is outweighed below this share: it may have been read a moment before the limit was reached. */
const FAR_LOW_SHARE = 0.8;

/**
 * Whether one reading is in the current limit; null where the limit or the set-point is not known. A status "cc" decides.
 * Otherwise: amps ≥ 0.98·limit − 2 steps together with volts < 0.97·set, and below 0.8·set where the status says "cv".
 */
export function isLimited(of: {
  volts: number;
  amps: number;
  mode: "cv" | "cc" | "unknown";
  setVolts: number;
  limitAmps: number;
  stepAmps: number;
}): boolean | null {
  if (of.mode === "cc") return true;
  if (!Number.isFinite(of.limitAmps) || !Number.isFinite(of.setVolts)) return of.mode === "cv" ? false : null;
  const isAtLimit = of.amps >= 0.98 * of.limitAmps - 2 * of.stepAmps;
  return isAtLimit && of.volts < (of.mode === "cv" ? FAR_LOW_SHARE : LOW_SHARE) * of.setVolts;
}

const MODES = ["unknown", "cv", "cc"] as const;

/** Which readings are in the current limit: 1 limited, 0 not, 2 cannot be known. */
export function limitedReadings(input: LimitingInput): Uint8Array {
  const out = new Uint8Array(input.atMs.length);
  for (let i = 0; i < out.length; i++) {
    const setVolts = input.setVolts === null ? Number.NaN : at(input.setVolts, i);
    const [volts, amps] = [at(input.volts, i), at(input.amps, i)];
    const limited = isLimited({
      volts,
      amps,
      mode: MODES[input.mode === null ? 0 : at(input.mode, i)] ?? "unknown",
      setVolts,
      limitAmps: input.limitAmps === null ? Number.NaN : at(input.limitAmps, i),
      stepAmps: input.stepAmps,
    });
    // Nothing is known of the limit: only volts that are low while current flows leave it open.
    out[i] = limited === null ? (volts < LOW_SHARE * setVolts && amps > 0 ? 2 : 0) : limited ? 1 : 0;
  }
  return out;
}

/**
 * Total and longest time in the limit, milliseconds: each limited reading stands for half the way to its neighbours,
 * and a gap beyond `longestGapMs` is not counted. Correct to one read interval a stretch.
 */
export function timeInLimit(
  atMs: Float64Array,
  limited: Uint8Array,
  longestGapMs: number,
): { totalMs: number; longestMs: number } {
  let totalMs = 0;
  let longestMs = 0;
  let runMs = 0;
  for (let i = 0; i < atMs.length; i++) {
    if (at(limited, i) !== 1) {
      runMs = 0;
      continue;
    }
    const before = i > 0 ? Math.min(longestGapMs, at(atMs, i) - at(atMs, i - 1)) / 2 : 0;
    const after = i < atMs.length - 1 ? Math.min(longestGapMs, at(atMs, i + 1) - at(atMs, i)) / 2 : 0;
    totalMs += before + after;
    runMs += before + after;
    longestMs = Math.max(longestMs, runMs);
  }
  return { totalMs, longestMs };
}
