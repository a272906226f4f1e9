import { z } from "zod";

/**
 * `alike`: no point stands out. `one-differs`, `several-differ`: these do. `too-few`: fewer than are needed to tell without a good
 * board. `cannot-tell`: all read open, or more than half do not read the same.
 */
export const AlikeWord = z.enum(["alike", "one-differs", "several-differ", "too-few", "cannot-tell"]);
export type AlikeWord = z.infer<typeof AlikeWord>;

/** One point of a group, held against the others. */
export const AlikePoint = z.strictObject({
  point: z.string(),
  /** Ohms or diode volts; null not measured. */
  value: z.union([z.number(), z.literal("open")]).nullable(),
  /** The reading of good boards of this kind there; null where none was read. */
  good: z.number().nullable(),
  /** Its distance from the middle of the group, as a share; with good values, how much further than on a good board. */
  off: z.number().nullable(),
  /** The least false-discovery rate at which it counts as an outlier (Benjamini and Hochberg 1995). */
  rate: z.number().min(0).max(1).nullable(),
  differs: z.boolean(),
});
export type AlikePoint = z.infer<typeof AlikePoint>;

/** A group as it was judged. */
export const AlikeResult = z.strictObject({
  group: z.string(),
  quantity: z.enum(["ohms", "diode"]),
  word: AlikeWord,
  /** The middle of what was read, ohms or volts; null where nothing was. */
  median: z.number().nullable(),
  /** Boards the good values rest on; 0: judged without a good board. */
  goodBoards: z.number().int().min(0),
  points: z.array(AlikePoint),
  because: z.array(z.string()),
});
export type AlikeResult = z.infer<typeof AlikeResult>;

/** The current of a rail from the millivolts over its parts. */
export const RailAmps = z.strictObject({
  rail: z.string(),
  amps: z.number(),
  /** Expanded uncertainty, k = 2. */
  expandedAmps: z.number(),
  parts: z.array(z.string()),
  /** Parts of this rail that were not read: the current is at least this. */
  missing: z.array(z.string()),
});
export type RailAmps = z.infer<typeof RailAmps>;
