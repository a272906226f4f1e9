import type { PlanFeed } from "../../shared/plan.ts";
import { ampsOf, type FeedReading, voltsOf } from "../../shared/reading.ts";
import type { LiveFeed, Sample } from "./machine-state.ts";

/**
 * Whether the supply regulates its current in this reading: by its own word where it gives one, else inferred from
 * I ≥ 0.98·limit − 2 steps together with V < 0.97·set (common practice, no source).
 */
export function isLimiting(reading: FeedReading, live: Pick<LiveFeed, "setVolts" | "limitAmps">, stepAmps: number | null): boolean {
  if (reading.mode !== "unknown") return reading.mode === "cc";
  const volts = voltsOf(reading);
  const amps = ampsOf(reading);
  if (volts === undefined || amps === undefined) return false;
  return amps >= 0.98 * live.limitAmps - 2 * (stepAmps ?? 0.001) && volts < 0.97 * live.setVolts;
}

/** The reading as numbers; undefined where either has none. */
export function sampleOf(reading: FeedReading, live: LiveFeed, feed: PlanFeed): Sample | undefined {
  const volts = voltsOf(reading);
  const amps = ampsOf(reading);
  if (volts === undefined || amps === undefined) return undefined;
  return {
    queriedAtMs: reading.queriedAtMs,
    atMs: reading.atMs,
    volts,
    amps,
    limiting: isLimiting(reading, live, feed.stepAmps),
  };
}
