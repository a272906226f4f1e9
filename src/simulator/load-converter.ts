import { type BoardLoad, sinceAbove } from "./board-load.ts";

export interface ConverterOptions {
  watts: number;
  efficiency: number;
  lockOutVolts: readonly [number, number];
  afterMs: number;
  softStartMs: number;
  startWatts?: number | undefined;
  startMs: number;
}

/** Input power of a converter `ms` after it was let go: a soft start, then perhaps a start demand, then its steady power. */
export function converterWatts(options: Omit<ConverterOptions, "lockOutVolts">, ms: number): number {
  const running = ms - options.afterMs;
  if (running < 0) return 0;
  const ramp = options.softStartMs <= 0 ? 1 : Math.min(1, running / options.softStartMs);
  const starting = options.startWatts !== undefined && running < options.softStartMs + options.startMs;
  return (ramp * (starting ? (options.startWatts ?? 0) : options.watts)) / options.efficiency;
}

/** When that power next changes its law, in ms since it was let go. */
export function converterChangeMs(options: Omit<ConverterOptions, "lockOutVolts">, ms: number): number {
  const { afterMs, softStartMs, startMs } = options;
  for (const at of [afterMs, afterMs + softStartMs, afterMs + softStartMs + startMs]) if (ms < at) return at;
  return Number.POSITIVE_INFINITY;
}

/** A regulated converter: constant power above its lock-out, with hysteresis, starting anew each time it passes it. */
export function converterLoad(options: ConverterOptions): BoardLoad {
  const [rising, falling] = options.lockOutVolts;
  const since = sinceAbove(rising, falling);
  let started: number | undefined;
  return {
    draw: (sum, volts, atMs) => {
      started = since(volts, atMs);
      if (started !== undefined) sum.watts += converterWatts(options, atMs - started);
    },
    nextChangeMs: (atMs) =>
      started === undefined ? Number.POSITIVE_INFINITY : started + converterChangeMs(options, atMs - started),
  };
}
