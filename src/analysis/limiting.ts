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

/**
 * Which readings are in the current limit: where the supply says its mode, that; otherwise inferred from
 * amps ≥ 0.98·limit − 2 steps together with volts < 0.97·set. 1 limited, 0 not, 2 cannot be known.
 */
export function limitedReadings(input: LimitingInput): Uint8Array {
  const out = new Uint8Array(input.atMs.length);
  for (let i = 0; i < out.length; i++) {
    const mode = input.mode === null ? 0 : at(input.mode, i);
    if (mode !== 0) {
      out[i] = mode === 2 ? 1 : 0;
      continue;
    }
    const limit = input.limitAmps === null ? Number.NaN : at(input.limitAmps, i);
    const set = input.setVolts === null ? Number.NaN : at(input.setVolts, i);
    const [volts, amps] = [at(input.volts, i), at(input.amps, i)];
    const low = volts < 0.97 * set;
    if (Number.isFinite(limit)) out[i] = amps >= 0.98 * limit - 2 * input.stepAmps && low ? 1 : 0;
    else out[i] = low && amps > 0 ? 2 : 0;
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
