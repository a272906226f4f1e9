import { z } from "zod";

const amount = z.number().nullable();

/** A place where the board's cold ohms are taken: a feed, a rail, or a pair "A:B"; `least` and `most` healthy, null not known. */
export const WireColdPoint = z.strictObject({
  point: z.string(),
  where: z.string().nullable(),
  least: amount,
  most: amount,
});
export type WireColdPoint = z.infer<typeof WireColdPoint>;

/** A feed, rail or signal of the power tree, with what must be up before it. */
export const WireTreeNode = z.strictObject({
  name: z.string(),
  kind: z.enum(["feed", "rail", "signal"]),
  volts: amount,
  /** Names of rails, or "feed:NAME". */
  needs: z.array(z.string()),
});

/** A photograph of the board, and where on it the points are: shares of its width and height from the upper left. */
export const WireBoardPhoto = z.strictObject({
  caption: z.string().nullable(),
  points: z.record(z.string(), z.strictObject({ x: z.number(), y: z.number() })),
});
export type WireBoardPhoto = z.infer<typeof WireBoardPhoto>;

export const WireBoard = z.strictObject({
  name: z.string(),
  isDefault: z.boolean(),
  notes: z.array(z.string()),
  cold: z.array(WireColdPoint),
  tree: z.array(WireTreeNode),
  /** In the order in which they are asked for by number. */
  photos: z.array(WireBoardPhoto),
  /** The step that each state of power comes after, in order; left out where the board file names none. */
  states: z.array(z.string()).exactOptional(),
  /** Points that should read alike, by the name of their group; left out where the board file names none. */
  groups: z.record(z.string(), z.array(z.string())).exactOptional(),
  /** Rails whose current is told by the volts over parts of known ohms; left out where there are none. */
  across: z.array(z.string()).exactOptional(),
});
export type WireBoard = z.infer<typeof WireBoard>;
