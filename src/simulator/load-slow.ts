import { type BoardLoad, sinceAbove } from "./board-load.ts";
import type { Random } from "./random.ts";

const never = Number.POSITIVE_INFINITY;

export interface FanOptions {
  startAmps: number;
  startMs: number;
  amps: number;
  afterMs: number;
  fromVolts: number;
  ratedVolts: number;
}

/** A fan: a start pulse, then a current that goes with the voltage. */
export function fanLoad(options: FanOptions): BoardLoad {
  const since = sinceAbove(options.fromVolts, options.fromVolts * 0.9);
  let started: number | undefined;
  return {
    draw: (sum, volts, atMs) => {
      started = since(volts, atMs);
      if (started === undefined) return;
      const running = atMs - started - options.afterMs;
      if (running < 0) return;
      sum.siemens += (running < options.startMs ? options.startAmps : options.amps) / options.ratedVolts;
    },
    nextChangeMs: (atMs) => {
      if (started === undefined) return never;
      for (const at of [started + options.afterMs, started + options.afterMs + options.startMs])
        if (atMs < at) return at;
      return never;
    },
  };
}

/** Leakage that feeds itself: its slope grows with its height. */
export function leakLoad(options: { amps: number; tauMs: number; mostAmps: number; fromVolts: number }): BoardLoad {
  const since = sinceAbove(options.fromVolts, options.fromVolts * 0.9);
  return {
    draw: (sum, volts, atMs) => {
      const started = since(volts, atMs);
      if (started === undefined) return;
      sum.amps += Math.min(options.mostAmps, options.amps * Math.expm1((atMs - started) / options.tauMs));
    },
    nextChangeMs: () => never,
  };
}

/** A loose joint: a current that comes and goes for times spread exponentially about their means, at least a fifth of them. */
export function intermittentLoad(
  options: { amps: number; onMs: number; offMs: number; fromVolts: number },
  random: Random,
): BoardLoad {
  const since = sinceAbove(options.fromVolts, options.fromVolts * 0.9);
  let on = true;
  let changeMs = never;
  const lasting = (mean: number) => mean * (0.2 + 0.8 * random.exponential());
  return {
    draw: (sum, volts, atMs) => {
      if (since(volts, atMs) === undefined) {
        on = true;
        changeMs = never;
        return;
      }
      if (changeMs === never) changeMs = atMs + lasting(options.onMs);
      while (atMs >= changeMs) {
        on = !on;
        changeMs += lasting(on ? options.onMs : options.offMs);
      }
      if (on) sum.amps += options.amps;
    },
    nextChangeMs: () => changeMs,
  };
}
