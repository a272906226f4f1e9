import { z } from "zod";
import { DrawBaseline } from "./draw-baseline.ts";
import { RecordedFigures } from "./record/recording.ts";

/** The ten classes of a board's draw (`docs/verdicts.md` says what each means). */
export const DrawClass = z.enum([
  "open-input",
  "dead-short",
  "overload",
  "retrying",
  "standby-only",
  "partly-up",
  "core-alive",
  "normal",
  "creeping",
  "cannot-tell",
]);
export type DrawClass = z.infer<typeof DrawClass>;

export const OverloadKind = z.enum(["ohmic", "junction", "over-demand", "leaky", "start-loop", "unknown"]);
export type OverloadKind = z.infer<typeof OverloadKind>;

/** A level the current stayed at: mean amps, when it began and how long it held, milliseconds. */
export const Plateau = z.strictObject({ amps: z.number(), startMs: z.number(), lengthMs: z.number() });
export type Plateau = z.infer<typeof Plateau>;

const figure = z.number().nullable();

/** Figures drawn from the readings; null is "cannot be known from these readings", never zero. */
export const DrawFeatures = z.strictObject({
  plateauAmps: figure,
  /** A lower bound, since the meter reads every `sampleIntervalMs`; a value where a recorder's `recorded.coversAll` is true. */
  peakAmps: figure,
  sampleIntervalMs: figure,
  chargeCoulombs: figure,
  inputFarads: figure,
  shortOhms: figure,
  limitedMs: figure,
  collapseRatio: figure,
  periodMs: figure,
  driftAmpsPerMin: figure,
  plateaus: z.array(Plateau).nullable(),
});
export type DrawFeatures = z.infer<typeof DrawFeatures>;

/** Expanded uncertainty (k = 2) of the figures of the same names, in their units; null where the figure is not known. */
export const DrawUncertainty = z.strictObject({
  plateauAmps: figure,
  /** Of the reading: the true peak may be any amount higher. */
  peakAmps: figure,
  chargeCoulombs: figure,
  inputFarads: figure,
  shortOhms: figure,
  limitedMs: figure,
  periodMs: figure,
  driftAmpsPerMin: figure,
  energyJoules: figure,
});
export type DrawUncertainty = z.infer<typeof DrawUncertainty>;

export const Candidate = z.strictObject({ class: DrawClass, probability: z.number().min(0).max(1) });
export type Candidate = z.infer<typeof Candidate>;

/** The current of one feed at its nominal voltage. `open`: behind its connector nothing is connected. */
export const FeedDraw = z.strictObject({
  feed: z.string(),
  amps: z.number(),
  /** k = 2. */
  expandedAmps: z.number(),
  open: z.enum(["no", "likely", "yes"]),
});
export type FeedDraw = z.infer<typeof FeedDraw>;

/** The meaning of the draw: the class, its rivals, the sentences it rests on and the figures behind them. */
export const DrawVerdict = z.strictObject({
  class: DrawClass,
  sub: OverloadKind.optional(),
  candidates: z.array(Candidate),
  because: z.array(z.string()),
  features: DrawFeatures,
  energyJoules: z.number().nullable(),
  /** Left out in records made before it was worked out. */
  uncertainty: DrawUncertainty.optional(),
  /** Each feed by itself; left out in older records. */
  feeds: z.array(FeedDraw).optional(),
  /** The draw of good boards of this kind by the record; left out where it was not asked or knows none. */
  baseline: DrawBaseline.optional(),
  /** The findings from a recorder; left out where there was none, or it gave nothing. */
  recorded: RecordedFigures.optional(),
});
export type DrawVerdict = z.infer<typeof DrawVerdict>;
