import { z } from "zod";

/** A voltage as it came: a number of volts, or the reason why there is none. SCPI's 9.9E37 never gets past the edge. */
export const VoltsReading = z.discriminatedUnion("kind", [
  z.strictObject({ kind: z.literal("value"), volts: z.number() }),
  z.strictObject({ kind: z.literal("overload") }),
  z.strictObject({ kind: z.literal("no-reading") }),
]);
export type VoltsReading = z.infer<typeof VoltsReading>;

export const AmpsReading = z.discriminatedUnion("kind", [
  z.strictObject({ kind: z.literal("value"), amps: z.number() }),
  z.strictObject({ kind: z.literal("overload") }),
  z.strictObject({ kind: z.literal("no-reading") }),
]);
export type AmpsReading = z.infer<typeof AmpsReading>;

/** The supply's word on what regulates its output: `cv`, `cc`, or nothing known. */
export const RegulationMode = z.enum(["cv", "cc", "unknown"]);
export type RegulationMode = z.infer<typeof RegulationMode>;

/** While no run is on each feed is read at most so often, milliseconds: for the screen only, nothing is decided by it. */
export const IDLE_ROUND_MS = 200;

/**
 * One reading of one feed. Times are `atMs`: milliseconds since the run began, monotonic. `queriedAtMs` is when the
 * question was written, `atMs` when its answer was complete. `together` is true only where volts and amps came from one
 * round trip; otherwise `ampsAtMs` says when the amps were complete.
 */
export const FeedReading = z.strictObject({
  feed: z.string(),
  queriedAtMs: z.number(),
  atMs: z.number(),
  volts: VoltsReading,
  amps: AmpsReading,
  mode: RegulationMode,
  together: z.boolean(),
});
export type FeedReading = z.infer<typeof FeedReading>;

export const voltsOf = (reading: FeedReading): number | undefined =>
  reading.volts.kind === "value" ? reading.volts.volts : undefined;
export const ampsOf = (reading: FeedReading): number | undefined =>
  reading.amps.kind === "value" ? reading.amps.amps : undefined;
