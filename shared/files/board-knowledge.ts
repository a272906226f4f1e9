import { z } from "zod";

const count = z.number().int().min(1).max(1_000_000);
const size = z.number().min(0).max(1e12);
const word = z.string().max(200);
const Sha256 = z.string().regex(/^[0-9a-f]{64}$/);

/** The draw of good boards of a kind under one set of conditions: means, spreads and counts, and nobody's board by itself. */
export const DrawKnowledge = z.strictObject({
  /** The feeds that were on, by name. */
  feeds: z.array(word).min(1).max(64),
  /** Maker and model of the supplies; no serial number. */
  supply: word,
  leads: z.string().max(2000),
  fans: word,
  host: word,
  boards: count,
  captures: count,
  /** Mean over the boards' own means, and their standard deviation, amps; null for one board. */
  meanAmps: size,
  betweenAmps: size.nullable(),
  /** The largest standard uncertainty of a level from its instruments, amps. */
  standardU: size,
});
export type DrawKnowledge = z.infer<typeof DrawKnowledge>;

/** The readings of good boards of a kind at a point; base SI. */
export const PointKnowledge = z.strictObject({
  point: word,
  quantity: z.enum(["volts", "ohms", "diodeVolts"]),
  boards: count,
  mean: z.number().min(-1e12).max(1e12),
  median: z.number().min(-1e12).max(1e12),
  least: z.number().min(-1e12).max(1e12),
  most: z.number().min(-1e12).max(1e12),
  stdDev: size.nullable(),
});
export type PointKnowledge = z.infer<typeof PointKnowledge>;

/** The first entry of an archive of what a shop knows of a kind of board; the board file and photographs are the others. */
export const BoardKnowledge = z.strictObject({
  format: z.literal("firstamp-board"),
  version: z.literal(1),
  /** The kind, by the name of its board file. */
  kind: z.string().min(1).max(80),
  /** The shop that gives it, as it names itself. */
  shop: z.string().regex(/^[a-z0-9-]{1,40}$/, { message: "should be 1 to 40 of a-z, 0-9 and -" }),
  draws: z.array(DrawKnowledge).max(500),
  points: z.array(PointKnowledge).max(5000),
  files: z
    .array(
      z.strictObject({
        name: z
          .string()
          .regex(/^[A-Za-z0-9][A-Za-z0-9_.-]{0,79}$/, { message: "should be a file name without a folder" }),
        bytes: z
          .number()
          .int()
          .min(0)
          .max(20 * 1024 * 1024),
        sha256: Sha256,
      }),
    )
    .max(21),
});
export type BoardKnowledge = z.infer<typeof BoardKnowledge>;
