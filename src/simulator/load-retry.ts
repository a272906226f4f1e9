import { type BoardLoad, sinceAbove } from "./board-load.ts";

export interface RetryOptions {
  amps: number;
  periodMs: number;
  onMs: number;
  afterMs: number;
  /** The number of pulses before it latches off until the feed falls; left out, for ever. */
  count?: number | undefined;
  fromVolts: number;
}

/** Whether a pulse is on `ms` after the feed came up, and when that next changes. */
export function retryPulse(
  options: Omit<RetryOptions, "amps" | "fromVolts">,
  ms: number,
): { on: boolean; changeMs: number } {
  const { afterMs, periodMs, onMs, count } = options;
  if (ms < afterMs) return { on: false, changeMs: afterMs };
  const pulse = Math.floor((ms - afterMs) / periodMs);
  if (count !== undefined && pulse >= count) return { on: false, changeMs: Number.POSITIVE_INFINITY };
  const startMs = afterMs + pulse * periodMs;
  const on = ms - startMs < onMs;
  return { on, changeMs: on ? startMs + onMs : startMs + periodMs };
}

/** A converter that tries, meets its fault, gives up and tries again: pulses of a constant current. */
export function retryLoad(options: RetryOptions): BoardLoad {
  const since = sinceAbove(options.fromVolts, options.fromVolts * 0.9);
  let started: number | undefined;
  return {
    draw: (sum, volts, atMs) => {
      started = since(volts, atMs);
      if (started !== undefined && retryPulse(options, atMs - started).on) sum.amps += options.amps;
    },
    nextChangeMs: (atMs) =>
      started === undefined ? Number.POSITIVE_INFINITY : started + retryPulse(options, atMs - started).changeMs,
  };
}
