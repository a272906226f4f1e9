import { z } from "zod";

const whole = z.number().int().min(0);
const places = z.number().int().min(0).max(9).nullable();
const column = z.number().int().min(1).max(8);

/** The columns of a chunk of packed readings: decimal places, null where they are doubles; and bytes of each number. */
export const PackedHead = z.strictObject({
  feeds: z.array(z.string()).min(1).max(255),
  times: places,
  volts: places,
  amps: places,
  widths: z.tuple([column, column, column, column, column]),
});
export type PackedHead = z.infer<typeof PackedHead>;

/** The head of a block of a capture's levels. */
export const LevelsHead = z.strictObject({
  capture: z.string(),
  /** The place of the block's chunks in the capture's file, and their numbers. */
  from: whole,
  end: whole,
  seq: whole,
  through: whole,
  /** Readings in it, with the times of the first and the last, milliseconds of the run. */
  n: whole,
  fromMs: z.number(),
  toMs: z.number(),
  feeds: z.array(z.strictObject({ feed: z.string(), buckets: whole })),
  crc32: whole,
});
export type LevelsHead = z.infer<typeof LevelsHead>;
