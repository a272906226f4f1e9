import { ampsOf, type FeedReading, voltsOf } from "../../../shared/reading.ts";
import type { WireReading } from "../../../shared/wire.ts";

/** A reading as it is drawn; watts only where volts and amps came from one round trip. */
export function wireReading(reading: FeedReading): WireReading {
  const { atMs, volts, amps, mode } = reading;
  const v = voltsOf(reading);
  const a = ampsOf(reading);
  return { atMs, volts, amps, mode, watts: reading.together && v !== undefined && a !== undefined ? v * a : null };
}
