import { z } from "zod";

const ms = z.number().nullable();
const uncertainty = z.number().min(0).nullable();

/** A fall under the rail's tolerance after it had come up. */
export const StartDip = z.strictObject({ atMs: z.number(), lengthMs: z.number(), volts: z.number() });
export type StartDip = z.infer<typeof StartDip>;

/** One column of a trace of a start; null for what the trace does not show. */
export const StartRail = z.strictObject({
  /** First crossing of 10 % between the two states, on the trace's own time. */
  beginsMs: ms,
  /** From 10 % to 90 %. */
  riseMs: ms,
  /** From 50 % until the last entry into the band around the upper state. */
  settlesMs: ms,
  /** Above the upper state, as a share of the amplitude. */
  overshoot: z.number().nullable(),
  /** When it reached 90 % of the board file's volts. */
  upAtMs: ms,
  /** The two states. */
  lowVolts: z.number().nullable(),
  highVolts: z.number().nullable(),
  dips: z.array(StartDip),
  /** The number of times it came up from under 10 %. */
  starts: z.number().int().min(0),
  noiseVolts: z.number().min(0).nullable(),
  /** Expanded uncertainty (k = 2) of each, from sampling and noise. */
  uncertainty: z.strictObject({
    beginsMs: uncertainty,
    riseMs: uncertainty,
    settlesMs: uncertainty,
    overshoot: uncertainty,
    upAtMs: uncertainty,
  }),
});
export type StartRail = z.infer<typeof StartRail>;

/** A time that a specification gives a minimum or maximum for. */
export const StartCheck = z.strictObject({
  what: z.string(),
  ms: ms,
  expandedMs: uncertainty,
  leastMs: z.number(),
  result: z.enum(["met", "not-met", "cannot-tell"]),
  source: z.string(),
});
export type StartCheck = z.infer<typeof StartCheck>;

/** The start of a board from one trace. */
export const StartOrder = z.strictObject({
  board: z.string().max(80),
  rails: z.record(z.string(), StartRail),
  /** Those that came up, the first first. */
  order: z.array(z.string()),
  checks: z.array(StartCheck),
  /** The faults found, in sentences; empty where nothing is. */
  problems: z.array(z.string()),
  /** The rail or signal that each problem is about, in the same order. */
  about: z.array(z.string()),
  notes: z.array(z.string()),
  sampleMs: z.number().nullable(),
  rows: z.number().int(),
});
export type StartOrder = z.infer<typeof StartOrder>;
