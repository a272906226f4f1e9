import { z } from "zod";
import { FeedReading } from "./reading.ts";

const volts = z.number().min(0).max(80);
const amps = z.number().min(0).max(100);
const ms = z.number().min(0);

/** The stages a first power-up goes through, in order; then those of the other kinds of run. */
export const StageName = z.enum(["check", "touch", "hold-low", "rise", "watch", "off", "margin", "inject"]);
export type StageName = z.infer<typeof StageName>;

/** The wishes of a stage for one feed: set-point, limit, over-voltage level and longest time. */
export const StageSetting = z.strictObject({ volts, limitAmps: amps, overVolts: volts, maxMs: ms });
export type StageSetting = z.infer<typeof StageSetting>;

export const PlanFeed = z.strictObject({
  feed: z.string(),
  order: z.number().int(),
  /** null for a feed a person switches. */
  supply: z.string().nullable(),
  channel: z.number().int().nullable(),
  nominalVolts: volts,
  tolerance: z.tuple([z.number(), z.number()]),
  /** Highest limit this feed may ever get (the board's, never above the supply's). */
  limitAmps: amps,
  maxVolts: volts,
  /** null: not known; resistance of a short is then an upper bound. */
  leadOhms: z.number().nullable(),
  /** Expanded uncertainty (k = 2) of it, where it was measured. */
  leadExpandedOhms: z.number().min(0).exactOptional(),
  sense: z.enum(["local", "remote", "unknown"]),
  readsAtSense: z.union([z.boolean(), z.literal("unknown")]),
  /** Read-back steps of the supply, null where the driver does not say. */
  stepVolts: z.number().nullable(),
  stepAmps: z.number().nullable(),
  offsetAmps: z.number().nullable(),
  /** True where the supply has a hardware over-voltage protection; without one the software trip is clean-up only. */
  hasOverVoltage: z.boolean(),
  hasOverCurrent: z.boolean(),
  /** Rise time of the supply to nominal and its shortest read interval, as far as known. */
  supplyRiseMs: ms,
  readIntervalMs: ms,
  /** Time to read every feed of its supply once; left out where that is the read interval. */
  roundMs: ms.exactOptional(),
  inputFaradsMax: z.number().positive(),
  coldOhms: z.number().nullable(),
  touch: StageSetting,
  /** null where the feed's nominal is too low for one. */
  holdLow: StageSetting.nullable(),
  /** The most a good board of this kind conducts there, by the board file. */
  holdLowMostAmps: amps.exactOptional(),
  /** Rise and watch; `limitAmps` is `firstAmps`. */
  nominal: StageSetting,
  /** Limits the ladder may go to, rising; at most two, none above `limitAmps`. */
  ladderAmps: z.array(amps).max(2),
  /** Limits of the two-limit test below 1 V. */
  twoLimitAmps: z.tuple([amps, amps]),
  /** Longest summed limiting time in any second of the rise. */
  allowedLimitingMs: ms,
  /** Rising and falling lock-out of the converters behind the feed, where the board file says. */
  lockOutVolts: z.tuple([volts, volts]).exactOptional(),
  /** Other feeds on the same channel: they are on and off with this one, and its current is theirs too. */
  ganged: z.array(z.string()).exactOptional(),
  /** The values that were taken from the shipped defaults, in words; a person should see it before this feed is energised. */
  assumed: z.array(z.string()).exactOptional(),
});
export type PlanFeed = z.infer<typeof PlanFeed>;

/** After a clean power-up the volts of one feed are stepped within its tolerance, the draw settled at each step. */
export const MarginPlan = z.strictObject({
  feed: z.string(),
  /** Set-points in the order they are gone to; none outside the tolerance nor at the feed's most volts. */
  stepVolts: z.array(volts).min(2).max(21),
  /** Longest a step waits for the draw to settle. */
  stepMs: ms,
});
export type MarginPlan = z.infer<typeof MarginPlan>;

/** Short hunting in place of a power-up: one feed on a rail, under a voltage cap and a power budget. */
export const InjectPlan = z.strictObject({
  rail: z.string(),
  capVolts: volts,
  /** Limits in the order they are offered, each after a person's word. */
  levelsAmps: z.array(amps).min(1).max(8),
  /** The time that a level lasts, and the highest level. */
  levelMs: ms,
  topMs: ms,
  /** Most power on the board, and most energy in the whole attempt; what the leads take is not counted where they are known. */
  boardWatts: z.number().positive(),
  boardJoules: z.number().positive(),
  /** A rise of the volts or a fall of the amps by more than this share from one reading to the next: the short is gone. */
  voltsUpShare: z.number().positive(),
  ampsDownShare: z.number().positive(),
});
export type InjectPlan = z.infer<typeof InjectPlan>;

/** A power-up as data; everything the machine decides by is in here. */
export const Plan = z.strictObject({
  version: z.literal(1),
  name: z.string(),
  feeds: z.array(PlanFeed).min(1),
  watch: z.strictObject({ seconds: z.number().positive(), slowestPeriodMs: ms }),
  maxOnMs: ms,
  /** Heat a bare chip may take at nominal, joules; left out where a cooler or the board file decides by time alone. */
  maxOnJoules: z.number().positive().exactOptional(),
  keepOn: z.boolean(),
  /** Above this on a feed that is not on while others are: back-feed. */
  backFeedVolts: volts,
  residualVolts: volts,
  trips: z.strictObject({
    overPowerWatts: z.number().positive(),
    creepSharePerMin: z.number().positive(),
    creepAfterMs: ms,
    creepRatio: z.number().positive(),
    /** No reading of an energised feed for this long. */
    staleMs: ms,
    shortOhms: z.number(),
    partialShortOhms: z.number(),
    doubtfulOhms: z.number(),
    touchJoules: z.number(),
  }),
  ladder: z.strictObject({ attemptMs: ms, offMs: ms, raises: z.number().int().min(0).max(2) }),
  /** Feeds of the board that this bench does not energise: a low draw is expected then. */
  feedsNotOn: z.array(z.string()).exactOptional(),
  margin: MarginPlan.exactOptional(),
  /** With it there is no power-up: the plan's one feed is on the rail, and `nominal` is what it is set to. */
  inject: InjectPlan.exactOptional(),
});
export type Plan = z.infer<typeof Plan>;

export const TripRule = z.enum([
  "residual",
  "dead-short",
  "partial-short",
  "junction",
  "back-feed",
  "limiting",
  "start-loop",
  "collapse",
  "over-voltage",
  "over-power",
  "charge",
  "energy",
  "creeping",
  "cleared",
  "stale",
  "silent",
  "overload-reading",
  "protection",
  "front-panel",
  "on-time",
  "link-lost",
  "command-failed",
  "lease-lost",
  "guardian-lost",
  "clock-gap",
  "unexpected",
  "operator",
]);
export type TripRule = z.infer<typeof TripRule>;

/** Why an output was cut; `board` tells a fault of the board (exit 3) from one of the bench (exit 1). */
export const Trip = z.strictObject({
  rule: TripRule,
  feed: z.string().nullable(),
  stage: StageName,
  atMs: z.number(),
  board: z.boolean(),
  because: z.string(),
});
export type Trip = z.infer<typeof Trip>;

/** The effects that the machine asks of the bench; each is answered by an event. */
export const PlanEffect = z.discriminatedUnion("effect", [
  /** Set and read back volts, limit and over-voltage; never touches the output. Answer: configured | refused. */
  z.strictObject({
    effect: z.literal("configure"),
    feed: z.string(),
    setting: StageSetting,
    overCurrentOn: z.boolean(),
  }),
  /** Answer: output (read back) | failed. */
  z.strictObject({ effect: z.literal("output-on"), feed: z.string() }),
  z.strictObject({ effect: z.literal("output-off"), feed: z.string() }),
  /** Arms the over-current protection of a feed that is on; nothing else is sent to it. Answer: configured | refused. */
  z.strictObject({ effect: z.literal("arm-over-current"), feed: z.string(), limitAmps: amps }),
  /** All outputs of the bench off at once, past every queue. Answer: cut-done. */
  z.strictObject({ effect: z.literal("cut"), why: z.string() }),
  /** Ask the supply why an output that was on went off by itself. Answer: why-off. */
  z.strictObject({ effect: z.literal("ask-why"), feed: z.string() }),
  /** Ask the person before the limit is raised. Answer: answered, with the question's number. */
  z.strictObject({
    effect: z.literal("ask-raise"),
    question: z.number().int(),
    feed: z.string(),
    fromAmps: amps,
    toAmps: amps,
    because: z.string(),
  }),
  /** Ask the person to switch a manual feed. Answer: answered, with the question's number. */
  z.strictObject({
    effect: z.literal("ask-manual"),
    question: z.number().int(),
    feed: z.string(),
    wanted: z.enum(["on", "off"]),
  }),
  z.strictObject({ effect: z.literal("finish") }),
]);
export type PlanEffect = z.infer<typeof PlanEffect>;

/** An event of the run; `atMs` is the bench process's time since the run began. */
export const PlanEvent = z.discriminatedUnion("event", [
  /** `rules` 2: after a raise every feed is looked at anew, own charge has bounds, and those still on are judged on the way
   * out; 3: before one more feed comes on, those that are on are read anew. Records from before have none and are replayed
   * as they were. */
  z.strictObject({ event: z.literal("begin"), atMs: z.number(), rules: z.literal([2, 3]).exactOptional() }),
  z.strictObject({ event: z.literal("reading"), atMs: z.number(), reading: FeedReading }),
  /** Time passing without a reading; at least every 20 ms while energised. */
  z.strictObject({ event: z.literal("tick"), atMs: z.number() }),
  z.strictObject({
    event: z.literal("configured"),
    atMs: z.number(),
    feed: z.string(),
    setVolts: z.number(),
    limitAmps: z.number(),
    overVolts: z.number().nullable(),
  }),
  z.strictObject({ event: z.literal("refused"), atMs: z.number(), feed: z.string(), because: z.string() }),
  z.strictObject({ event: z.literal("output"), atMs: z.number(), feed: z.string(), state: z.enum(["on", "off"]) }),
  z.strictObject({ event: z.literal("failed"), atMs: z.number(), feed: z.string().nullable(), because: z.string() }),
  z.strictObject({
    event: z.literal("cut-done"),
    atMs: z.number(),
    output: z.enum(["off", "unknown"]),
    because: z.string(),
  }),
  /** Questions of a run are numbered from 1; records from before they had numbers have none. */
  z.strictObject({
    event: z.literal("answered"),
    atMs: z.number(),
    question: z.number().int().exactOptional(),
    yes: z.boolean(),
  }),
  /** Somebody wants everything off at once. */
  z.strictObject({ event: z.literal("stop"), atMs: z.number(), by: z.string() }),
  /** Somebody wants the run ended: off in reverse order where that is safe, at once elsewhere. */
  z.strictObject({ event: z.literal("end"), atMs: z.number(), by: z.string() }),
  z.strictObject({ event: z.literal("link-lost"), atMs: z.number(), instrument: z.string(), because: z.string() }),
  z.strictObject({ event: z.literal("silent"), atMs: z.number(), instrument: z.string(), because: z.string() }),
  /** Somebody else changed a setting or an output, or a protection of the supply acted. */
  z.strictObject({ event: z.literal("protection"), atMs: z.number(), feed: z.string(), which: z.string() }),
  z.strictObject({
    event: z.literal("front-panel"),
    atMs: z.number(),
    feed: z.string(),
    because: z.string(),
    /** There where an output came on that should be off. */
    output: z.literal("on").exactOptional(),
  }),
  /** An output that should be on reads off, and nobody here switched it off. */
  z.strictObject({ event: z.literal("went-off"), atMs: z.number(), feed: z.string() }),
  /** The supply's word on an output that went off; `protection` null: no protection of its own acted. */
  z.strictObject({
    event: z.literal("why-off"),
    atMs: z.number(),
    feed: z.string(),
    protection: z.string().nullable(),
    because: z.string(),
  }),
  /** A person says what they did: "the power key is pressed". `state` is the state of power it brings the board to, null none. */
  z.strictObject({
    event: z.literal("mark"),
    atMs: z.number(),
    text: z.string().min(1).max(200),
    state: z.string().max(32).nullable(),
  }),
  z.strictObject({ event: z.literal("lease-lost"), atMs: z.number(), because: z.string() }),
  z.strictObject({ event: z.literal("guardian-lost"), atMs: z.number(), because: z.string() }),
  z.strictObject({ event: z.literal("clock-gap"), atMs: z.number(), gapMs: z.number() }),
]);
export type PlanEvent = z.infer<typeof PlanEvent>;

/** The values that one step of a margin run settled at. `volts` are at the card where the leads are known. */
export const MarginStep = z.strictObject({
  setVolts: volts,
  volts: z.number(),
  amps: z.number(),
  /** Of the mean: scatter and read-back step. */
  standardAmps: z.number(),
  settled: z.boolean(),
});
export type MarginStep = z.infer<typeof MarginStep>;

/** The values that one level of an injection came to. `volts` are at the supply, `boardVolts` behind the leads; null: not known. */
export const InjectLevel = z.strictObject({
  limitAmps: amps,
  volts: z.number(),
  amps: z.number(),
  boardVolts: z.number().nullable(),
  /** Of the board, leads taken off where they are known; null where no current flows. */
  ohms: z.number().nullable(),
  /** Most power and all energy of this level, on the board. */
  watts: z.number(),
  joules: z.number(),
  seconds: z.number(),
  /** Whether the supply was in its limit; else the cap held the current. */
  limited: z.boolean(),
});
export type InjectLevel = z.infer<typeof InjectLevel>;

/** Who ended a run that is no verdict on the board: the bench (instruments, cables, computer), or a person. */
export const EndedBy = z.enum(["bench", "person"]);
export type EndedBy = z.infer<typeof EndedBy>;

/** The end of a run, a fold of its events. `output` is what is true of all outputs of the run. */
export const RunOutcome = z.strictObject({
  ended: z.enum(["as-planned", "board-stopped", "failed", "stopped-by-person"]),
  trip: Trip.nullable(),
  output: z.enum(["off", "on", "unknown"]),
  /** The next limit of the ladder and the reason, when a limit was too low. */
  limitToTry: z.strictObject({ feed: z.string(), amps }).nullable(),
  raises: z.number().int(),
  reachedStage: StageName,
  /** Left out where the board or the plan ended it, and in records made before it was told. */
  endedBy: EndedBy.exactOptional(),
  /** Of a margin run, in the order they were taken. */
  steps: z.array(MarginStep).exactOptional(),
  /** Of an injection. */
  levels: z.array(InjectLevel).exactOptional(),
  /** Why a run without a trip did not go further, and what else a person must know of its end. */
  note: z.string().exactOptional(),
});
export type RunOutcome = z.infer<typeof RunOutcome>;
