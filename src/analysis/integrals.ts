import { at } from "./at.ts";

/** ∫ value dt by trapezoids over the finite readings, unit·seconds; 0 for fewer than two. */
export function integralOf(atMs: Float64Array, values: Float64Array): number {
  let sum = 0;
  let lastAt = Number.NaN;
  let last = Number.NaN;
  for (let i = 0; i < values.length; i++) {
    const value = at(values, i);
    if (!Number.isFinite(value)) continue;
    const now = at(atMs, i);
    if (Number.isFinite(last)) sum += ((last + value) / 2) * (now - lastAt);
    last = value;
    lastAt = now;
  }
  return sum / 1000;
}

export interface Energy {
  /** The sum over the readings, joules. */
  joules: number;
  /** The most by which it may be off where volts and amps were not read together; 0 where they were. */
  doubtJoules: number;
}

/**
 * Energy out of the supply. Where volts and amps were read at different moments, an interval in which either moved by
 * more than 5 % (and `quietAmps`) is not multiplied: it counts with half the most it could be, and that much is in doubt.
 */
export function energyOf(
  trace: { atMs: Float64Array; volts: Float64Array; amps: Float64Array; together: boolean },
  quietAmps = 0,
): Energy {
  let joules = 0;
  let doubtJoules = 0;
  let before = -1;
  for (let i = 0; i < trace.atMs.length; i++) {
    const [volts, amps] = [at(trace.volts, i), at(trace.amps, i)];
    if (!Number.isFinite(volts) || !Number.isFinite(amps)) continue;
    if (before >= 0) {
      const seconds = (at(trace.atMs, i) - at(trace.atMs, before)) / 1000;
      const [oldVolts, oldAmps] = [at(trace.volts, before), at(trace.amps, before)];
      const moved = (from: number, to: number, quiet: number) =>
        Math.abs(to - from) > Math.max(quiet, 0.05 * Math.max(Math.abs(from), Math.abs(to)));
      if (trace.together || !(moved(oldVolts, volts, 0.02) || moved(oldAmps, amps, quietAmps))) {
        joules += ((volts * amps + oldVolts * oldAmps) / 2) * seconds;
      } else {
        const most = Math.max(volts, oldVolts) * Math.max(amps, oldAmps, 0) * seconds;
        joules += most / 2;
        doubtJoules += most / 2;
      }
    }
    before = i;
  }
  return { joules, doubtJoules };
}
