import { z } from "zod";
import { DrawVerdict } from "./draw-verdict.ts";
import { RunOutcome } from "./plan.ts";
import { Diagnosis, DiagnosisReadings } from "./record/diagnosis.ts";
import { WireJob, WireReading, WireRun } from "./wire.ts";

/** A file kept with a job, told by its hash. */
export const WireKeptFile = z.strictObject({
  sha256: z.string(),
  name: z.string(),
  mediaType: z.string(),
  bytes: z.number().int(),
  caption: z.string().nullable(),
});
export type WireKeptFile = z.infer<typeof WireKeptFile>;

/** An event of a job as people read it; `kind` is the record's own, so that a page need not know every kind. */
export const WireJobEvent = z.strictObject({
  id: z.string(),
  seq: z.number().int(),
  at: z.string(),
  kind: z.string(),
  text: z.string(),
  file: WireKeptFile.nullable(),
  /** True for what a person wrote and may put right; the original stays beside the correction. */
  correctable: z.boolean(),
  /** A note of a moment in a run. */
  of: z.strictObject({ run: z.string(), atMs: z.number(), text: z.string() }).exactOptional(),
});
export type WireJobEvent = z.infer<typeof WireJobEvent>;

/** A run as it was filed. */
export const WireJobRun = z.strictObject({
  run: z.string(),
  capture: z.string(),
  purpose: z.string(),
  startedAt: z.string(),
  /** null: it never ended in the record, or goes on. */
  outcome: RunOutcome.nullable(),
  verdict: DrawVerdict.nullable(),
  energyJoules: z.number().nullable(),
  /** Moments of it at which a test host lost the board or saw its link change, milliseconds of the run; left out: none. */
  hostSaw: z.array(z.strictObject({ atMs: z.number(), text: z.string() })).exactOptional(),
});
export type WireJobRun = z.infer<typeof WireJobRun>;

/** One job as the page shows it. */
export const WireJobSheet = z.strictObject({
  id: z.string(),
  short: z.string(),
  title: z.string().nullable(),
  board: z.string().nullable(),
  createdAt: z.string(),
  /** The last cold reading of each point or pair, with why it counts no more where it does not. */
  cold: z.record(
    z.string(),
    z.strictObject({
      ohms: z.union([z.number().min(0), z.literal("open")]),
      at: z.string(),
      expired: z.string().nullable(),
    }),
  ),
  events: z.array(WireJobEvent),
  runs: z.array(WireJobRun),
});
export type WireJobSheet = z.infer<typeof WireJobSheet>;

/** A run that is over, to be drawn: its stages with their limits, and each feed's readings, thinned. */
export const WireStoredRun = z.strictObject({
  run: WireRun,
  trace: z.array(z.strictObject({ feed: z.string(), readings: z.array(WireReading) })),
});
export type WireStoredRun = z.infer<typeof WireStoredRun>;

const figure = z.strictObject({
  figure: z.string(),
  a: z.number().nullable(),
  b: z.number().nullable(),
  difference: z.number().nullable(),
  /** Expanded uncertainty of the difference, k = 2. */
  expanded: z.number().nullable(),
  beyondMeterError: z.enum(["yes", "no", "unknown"]),
});
const side = z.strictObject({ job: z.string(), run: z.string(), capture: z.string(), startedAt: z.string() });

/** Two runs beside each other. */
export const WireComparison = z.strictObject({
  a: side,
  b: side,
  classes: z.strictObject({ a: DrawVerdict.shape.class, b: DrawVerdict.shape.class, same: z.boolean() }),
  figures: z.array(figure),
  /** The conditions that were not alike in the two runs; a difference may come from these. */
  notAlike: z.array(z.string()),
});
export type WireComparison = z.infer<typeof WireComparison>;

/** Jobs that were looked for, the newest first. */
export const WireFoundJobs = z.strictObject({ jobs: z.array(WireJob), more: z.boolean() });
export type WireFoundJobs = z.infer<typeof WireFoundJobs>;

/** A file that was kept: what it shows of the board, in words, and what could not be told. */
export const WireAttached = z.strictObject({
  filed: z.literal(true),
  found: z.string().nullable(),
  notes: z.array(z.string()),
});
export type WireAttached = z.infer<typeof WireAttached>;

/** An answer that counts, the entry it stands in, and what the check may be answered with. */
export const WireAnswered = z.strictObject({
  entry: z.string(),
  to: z.string(),
  answer: z.string(),
  choices: z.array(z.string()),
});
export type WireAnswered = z.infer<typeof WireAnswered>;

/** The diagnosis from all that is filed with a job, with the readings and the answers it rests on. */
export const JobDiagnosis = z.strictObject({
  readings: DiagnosisReadings,
  diagnosis: Diagnosis,
  answered: z.array(WireAnswered),
});
export type JobDiagnosis = z.infer<typeof JobDiagnosis>;

const levels = z.strictObject({
  least: z.array(z.number().nullable()),
  most: z.array(z.number().nullable()),
  mean: z.array(z.number().nullable()),
});

/**
 * A capture's readings in a window of time, thinned to points: the lists of a feed are of one length, one place a point. A point
 * stands for `count` readings, from `atMs` to `untilMs`; its values are null where none of them was a number. `mean` is of the
 * readings, each counted once.
 */
export const WireCapturePoints = z.strictObject({
  capture: z.string(),
  /** First and last reading of the whole capture; null where it has none. */
  beginsMs: z.number().nullable(),
  endsMs: z.number().nullable(),
  feeds: z.array(
    z.strictObject({
      feed: z.string(),
      atMs: z.array(z.number()),
      untilMs: z.array(z.number()),
      count: z.array(z.number().int()),
      volts: levels,
      amps: levels,
    }),
  ),
});
export type WireCapturePoints = z.infer<typeof WireCapturePoints>;
