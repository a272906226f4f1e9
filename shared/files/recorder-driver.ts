import { z } from "zod";

const text = (holes: readonly string[]) =>
  z
    .string()
    .regex(/^[\x20-\x7e]{1,120}$/, "should be 1 to 120 printable ASCII characters, without a line end")
    .refine((said) => holes.reduce((rest, hole) => rest.replaceAll(`{${hole}}`, ""), said).match(/[{}]/) === null, {
      message: `may have ${holes.map((hole) => `{${hole}}`).join(" and ") || "nothing"} in braces`,
    });
const tell = text(["channel", "quantity", "value"]);
const ask = text(["channel", "quantity"]).refine((said) => said.includes("?"), {
  message: "should be a query, with a question mark",
});

/** A number of the preamble: its place in one list, from 0, or a query of its own. */
const Field = z.union([z.number().int().min(0).max(99), ask]);

/**
 * The scaling from samples to numbers: volts = (code − yReference)·yIncrement + yOrigin, seconds = (i − xReference)·xIncrement + xOrigin. Without
 * `yIncrement` samples are volts or amps already; without `xOrigin` the trigger is where it was set.
 */
const Preamble = z.strictObject({
  /** Asks for all of it, a list with commas; left out where each field has a query. */
  ask: ask.optional(),
  points: Field,
  xIncrement: Field,
  xOrigin: Field.optional(),
  /** Left out: 0. */
  xReference: Field.optional(),
  yIncrement: Field.optional(),
  yOrigin: Field.optional(),
  yReference: Field.optional(),
});

/** The form of the samples: binary words in a block of IEEE 488.2, or numbers with commas. */
const Samples = z.discriminatedUnion("as", [
  z.strictObject({
    as: z.literal("block"),
    bits: z.union([z.literal(8), z.literal(16)]),
    signed: z.boolean(),
    /** Which byte of a word comes first, or how that is asked and what the answers mean. */
    order: z.union([
      z.enum(["high-first", "low-first"]),
      z.strictObject({ ask, high: z.array(z.string()).min(1), low: z.array(z.string()).min(1) }),
    ]),
  }),
  z.strictObject({ as: z.literal("numbers") }),
]);

/**
 * The words of a family of oscilloscopes or buffers; `{channel}`, `{quantity}` and `{value}` are filled in. What names the channel is said for
 * each channel, anything else once.
 */
export const RecorderWords = z.strictObject({
  /** The buffer of a supply or of a meter, at that instrument's own address; left out: an instrument of its own. */
  inside: z.enum(["supply", "meter"]).optional(),
  /** The words that stand for `{quantity}` of a channel that reads volts or amps. */
  quantities: z.strictObject({ volts: z.string().max(20), amps: z.string().max(20) }).optional(),
  /** Highest channel number. */
  channels: z.number().int().min(1).max(32),
  /** Said first, in this order. */
  prepare: z.array(tell).max(20).default([]),
  /** Said for each channel that is recorded. */
  prepareChannel: z.array(tell).max(20).default([]),
  /** Full scale of a channel, `{value}` volts, where the family counts in full scale; else per division. */
  range: z.strictObject({ tell, divisions: z.number().positive().max(20).optional() }).optional(),
  /** Length of the record, `{value}` seconds, or seconds a division. */
  span: z.strictObject({ tell, divisions: z.number().positive().max(100_000).optional() }),
  /**
   * The place of the trigger in the record: `{value}` in seconds from its middle, in percent of it, or in samples before it: of a record of so many
   * (`of`), below zero where the family counts them so.
   */
  position: z.discriminatedUnion("in", [
    z.strictObject({ tell, in: z.enum(["seconds-from-middle", "percent"]) }),
    z.strictObject({ tell, in: z.literal("samples"), of: z.number().int() }),
  ]),
  trigger: z.strictObject({ source: tell, level: tell }),
  /** Starts one record; it waits for its trigger then. */
  arm: tell,
  /** Asks how it stands; words the answer begins with, capitals or not. With `mask` the answer is a number, and these bits of it are compared. */
  state: z.strictObject({
    ask,
    mask: z.number().int().positive().optional(),
    waiting: z.array(z.string()).min(1),
    done: z.array(z.string()).min(1),
  }),
  /** Ends a record, whatever is in it. */
  stop: tell,
  /** Said once a record is fetched or given up, so that the instrument reads as it did before. */
  release: z.array(tell).max(20).default([]),
  fetch: z.strictObject({
    /** Said for each channel before its preamble. */
    before: z.array(tell).max(10).default([]),
    preamble: Preamble,
    data: ask,
    samples: Samples,
    /** Codes that stand for a sample off the screen or not taken, at either end. */
    clipped: z.strictObject({ low: z.number(), high: z.number() }).optional(),
  }),
});
export type RecorderWords = z.infer<typeof RecorderWords>;
