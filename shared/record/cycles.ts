import { z } from "zod";
import { DrawClass } from "../draw-verdict.ts";
import { HostWord } from "./host-look.ts";

const spread = z
  .strictObject({
    n: z.number().int(),
    mean: z.number(),
    stdDev: z.number().nullable(),
    least: z.number(),
    most: z.number(),
  })
  .nullable();

/** One power-up of many. */
export const Cycle = z.strictObject({
  cycle: z.number().int().min(1),
  start: z.enum(["cold", "warm"]),
  run: z.uuid(),
  class: DrawClass.nullable(),
  /** Ended as planned, output proved off, and drew as most cycles before it did. */
  clean: z.boolean(),
  because: z.array(z.string()),
  offSeconds: z.number().min(0),
  plateauAmps: z.number().nullable(),
  chargeCoulombs: z.number().nullable(),
  startMs: z.number().nullable(),
  /** The host's word while it was on; null where no look came in that time. Left out where no host was asked. */
  host: HostWord.nullable().exactOptional(),
});
export type Cycle = z.infer<typeof Cycle>;

/** The result of many starts. */
export const CyclesResult = z.strictObject({
  cycles: z.number().int().min(0),
  clean: z.number().int().min(0),
  /** At most this share of its starts fails, with 95 % (Clopper and Pearson 1934); null without a cycle. */
  failureShareBelow: z.number().min(0).max(1).nullable(),
  plateauAmps: spread,
  chargeCoulombs: spread,
  startMs: spread,
  /** The count of each word of the host, and of starts without one; left out where no host was asked. */
  host: z.record(z.string(), z.number().int()).exactOptional(),
  endedBy: z.enum(["plan", "board", "bench", "person"]),
  because: z.string(),
});
export type CyclesResult = z.infer<typeof CyclesResult>;
