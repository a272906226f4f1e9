import { z } from "zod";
import { DrawVerdict } from "./draw-verdict.ts";
import { WireSetOnce } from "./files/set-once.ts";
import { BenchQuestion } from "./ipc.ts";
import { Permit } from "./permit.ts";
import { RunOutcome, StageName, Trip } from "./plan.ts";
import { AmpsReading, RegulationMode, VoltsReading } from "./reading.ts";
import { Cycle } from "./record/cycles.ts";
import { SweepLine, SweepWord } from "./sweep.ts";
import { WireBoard } from "./wire-board.ts";
import { WirePhone } from "./wire-phone.ts";
import { Confirmed, RunRequest, SweepHow } from "./wire-request.ts";

/** Bumped when a message changes its meaning; a page of another number shows a banner and no controls. */
export const WIRE_PROTOCOL = 2;

/** The code that a socket is closed with when its session was ended. */
export const SESSION_ENDED = 4001;

const short = z.string().max(200);
const amount = z.number().nullable();

/** The state of an output; `unknown` is never drawn as off. */
export const OutputState = z.enum(["on", "off", "unknown"]);
export type OutputState = z.infer<typeof OutputState>;

export const WireInstrument = z.strictObject({
  name: z.string(),
  kind: z.enum(["supply", "meter", "recorder"]),
  address: z.string(),
  connected: z.boolean(),
  /** True where it was asked and did not answer; one that is neither connected nor silent is not asked now. */
  silent: z.boolean(),
  /** Wall clock of its last answer; null before the first. */
  lastAnswerAt: z.string().nullable(),
  identity: z.string().nullable(),
  serialNumber: z.string().nullable(),
  driver: z.string().nullable(),
  /** `none` on a supply: it stays on if the computer dies, and the page says so. */
  watchdog: z.enum(["has", "none", "unknown"]),
  roundTripP99Ms: amount,
});
export type WireInstrument = z.infer<typeof WireInstrument>;

export const WireFeed = z.strictObject({
  feed: z.string(),
  /** null for a feed a person switches; the program cannot cut it. */
  supply: z.string().nullable(),
  channel: z.number().int().nullable(),
  output: OutputState,
  nominalVolts: amount,
  maxVolts: amount,
  maxAmps: amount,
  sense: z.enum(["local", "remote", "unknown"]),
  leadOhms: amount,
  /** Usual time between two readings, milliseconds; a figure older than three of them is stale. */
  readIntervalMs: z.number().positive(),
  stepAmps: amount,
});
export type WireFeed = z.infer<typeof WireFeed>;

export const WireBench = z.strictObject({
  /** True where the supply and the board are simulated; said on the screen all the time. */
  simulated: z.boolean(),
  feeds: z.array(WireFeed),
  instruments: z.array(WireInstrument),
  warnings: z.array(z.string()),
});
export type WireBench = z.infer<typeof WireBench>;

/** One reading of one feed as it is drawn; `watts` is null where volts and amps were not read together. */
export const WireReading = z.strictObject({
  atMs: z.number(),
  volts: VoltsReading,
  amps: AmpsReading,
  watts: amount,
  mode: RegulationMode,
});
export type WireReading = z.infer<typeof WireReading>;

/** Readings of one feed since the last frame. `ageMs` is the age of its last reading when the frame was made. */
export const WireFeedFrame = z.strictObject({
  feed: z.string(),
  output: OutputState,
  ageMs: z.number().min(0).nullable(),
  readings: z.array(WireReading),
});
export type WireFeedFrame = z.infer<typeof WireFeedFrame>;

/** `waiting` not reached, `skipped` this feed has no such stage, `stopped` the run ended in it. */
export const StageState = z.enum(["waiting", "running", "clean", "skipped", "stopped"]);
export type StageState = z.infer<typeof StageState>;

/** A stage for one feed with the limits planned for it; times are the run's, milliseconds. */
export const WireStageFeed = z.strictObject({
  feed: z.string(),
  state: StageState,
  volts: z.number(),
  limitAmps: z.number(),
  overVolts: z.number(),
  maxMs: z.number(),
  startedAtMs: amount,
  endedAtMs: amount,
});
export type WireStageFeed = z.infer<typeof WireStageFeed>;

export const WireStage = z.strictObject({ stage: StageName, state: StageState, feeds: z.array(WireStageFeed) });
export type WireStage = z.infer<typeof WireStage>;

/** A setting of a feed that was read back, while the feed was on with it; times are the run's, `untilMs` null: still. */
export const WireSetting = z.strictObject({
  feed: z.string(),
  volts: z.number(),
  limitAmps: z.number(),
  /** null: the supply has no protection of that kind, or does not say. */
  overVolts: amount,
  fromMs: z.number(),
  untilMs: amount,
});
export type WireSetting = z.infer<typeof WireSetting>;

/** A run as it stands: each stage with its limits, what it waits for, and how it ended. */
export const WireRun = z.strictObject({
  run: z.string(),
  job: z.string().nullable(),
  /** Wall clock of its begin. */
  startedAt: z.string(),
  plan: z.string(),
  /** In force so far; limits of `stages` are only planned. */
  settings: z.array(WireSetting),
  stages: z.array(WireStage),
  stage: StageName,
  feed: z.string().nullable(),
  waitingFor: z.string(),
  /** The time it had been waited for when this was sent, and the time it should take; null: as long as it takes. */
  waitedMs: z.number(),
  expectedMs: amount,
  energised: z.array(z.string()),
  outcome: RunOutcome.nullable(),
  /** The findings of a soak, a margin run or an injection beside its verdict, in sentences. */
  told: z.array(z.string()).exactOptional(),
  /** The draw of good boards of this kind under the same conditions, all of these feeds together; left out where nobody knows. */
  goodBoards: z
    .strictObject({ of: z.array(z.string()), lowAmps: z.number(), highAmps: z.number(), boards: z.number().int() })
    .exactOptional(),
});
export type WireRun = z.infer<typeof WireRun>;

export const WireVerdict = z.strictObject({
  run: z.string(),
  job: z.string().nullable(),
  /** Wall clock of the run's begin. */
  startedAt: z.string(),
  verdict: DrawVerdict,
  /** The next steps, first things first; empty where the daemon has no better advice than the class's own. */
  next: z.array(z.string()),
});
export type WireVerdict = z.infer<typeof WireVerdict>;

export const WireQuestion = BenchQuestion;
export type WireQuestion = BenchQuestion;

/** An output that could not be confirmed off; stays until it could. */
export const WireAlarm = z.strictObject({ message: z.string(), output: z.enum(["unknown", "off"]) });
export type WireAlarm = z.infer<typeof WireAlarm>;

export const WireLogLine = z.strictObject({
  at: z.string(),
  level: z.enum(["info", "warn", "error"]),
  text: z.string(),
});
export type WireLogLine = z.infer<typeof WireLogLine>;

export const WireJob = z.strictObject({
  id: z.string(),
  title: z.string(),
  startedAt: z.string(),
  class: DrawVerdict.shape.class.nullable(),
  /** Its stage between intake and hand-back, and its result; left out: nobody said. */
  stage: short.exactOptional(),
  result: z.string().exactOptional(),
});
export type WireJob = z.infer<typeof WireJob>;

/** The feeds that would be energised, their settings and the conditions: shown and confirmed before a start. */
export const WirePreview = z.strictObject({
  permit: Permit,
  /** `limitAmps` is the limit of the first rise, `highestAmps` what the ladder may ask for later. */
  feeds: z.array(
    z.strictObject({ feed: z.string(), volts: z.number(), limitAmps: z.number(), highestAmps: z.number() }),
  ),
  cautions: z.array(z.string()),
  /** The work beside a first power-up, in sentences; left out: nothing. */
  does: z.array(z.string()).exactOptional(),
});
export type WirePreview = z.infer<typeof WirePreview>;

/** A sweep with all it has told so far, but for live readings that are over. */
export const WireSweep = z.strictObject({
  sweep: z.string(),
  /** True where nothing is energised: ohms in place of volts. */
  cold: z.boolean(),
  job: z.string(),
  lines: z.array(SweepLine),
});
export type WireSweep = z.infer<typeof WireSweep>;

/** Many starts one after the other, as far as they came. */
export const WireCycles = z.strictObject({
  job: z.string(),
  cycles: z.array(Cycle),
  /** Everything is off, and is switched on again by itself after so many seconds; null: it is on, or over. */
  restSeconds: z.number().nullable(),
  /** Its result, in words; null while it goes on. */
  result: z.string().nullable(),
});
export type WireCycles = z.infer<typeof WireCycles>;

/** Everything a newly opened page needs. */
export const WireSnapshot = z.strictObject({
  program: z.string(),
  bench: WireBench,
  board: WireBoard,
  permit: Permit.nullable(),
  run: WireRun.nullable(),
  /** Readings of the current run so far, thinned by the daemon. */
  trace: z.array(z.strictObject({ feed: z.string(), readings: z.array(WireReading) })),
  verdict: WireVerdict.nullable(),
  alarm: WireAlarm.nullable(),
  question: WireQuestion.nullable(),
  /** The sweep that is on, or the last one of this daemon. */
  sweep: WireSweep.nullable(),
  /** The starts that are on, or the last of this daemon; left out: none yet. */
  cycles: WireCycles.exactOptional(),
  log: z.array(WireLogLine),
  jobs: z.array(WireJob),
});
export type WireSnapshot = z.infer<typeof WireSnapshot>;

/**
 * The result of one command. Of a cut, `done` is the bench process's own word that off is written, not yet the proof; where
 * that word did not come the cut is refused as "cut-not-taken", and only the supply's own switch is sure.
 */
export const WireAnswer = z.discriminatedUnion("result", [
  z.strictObject({ result: z.literal("done") }),
  /** `run` is the run's id, or the sweep's. */
  z.strictObject({ result: z.literal("started"), run: z.string() }),
  z.strictObject({ result: z.literal("lease"), lease: z.number().int() }),
  z.strictObject({ result: z.literal("preview"), preview: WirePreview }),
  z.strictObject({
    result: z.literal("lead-null"),
    ohms: z.number(),
    spreadOhms: z.number(),
    remark: z.string().nullable(),
  }),
  /** The code that a phone is to be given, as it is shown. */
  z.strictObject({ result: z.literal("phone-code"), code: z.string() }),
  /** `code` is for programs, `because` a sentence for a person. */
  z.strictObject({ result: z.literal("refused"), code: z.string(), because: z.string() }),
]);
export type WireAnswer = z.infer<typeof WireAnswer>;

/** The daemon's wall clock, milliseconds: what a person states is dated by it, not by the clock of whatever machine shows the page. */
const wall = z.number().exactOptional();

/** Daemon → page. `nowMs` is the daemon's monotonic clock; the page dates its deadlines by it. */
export const WireDown = z.discriminatedUnion("type", [
  z.strictObject({ type: z.literal("hello"), protocol: z.number().int(), nowMs: z.number(), wallMs: wall }),
  z.strictObject({ type: z.literal("beat"), nowMs: z.number(), wallMs: wall }),
  /** `lease` is its number where it is this page's; `by` names another page that has it. */
  z.strictObject({
    type: z.literal("lease"),
    holder: z.enum(["you", "other", "nobody"]),
    mayOperate: z.boolean(),
    lease: z.number().int().exactOptional(),
    by: z.string().exactOptional(),
  }),
  /** To the page in control: which page asks for it; null when it asks no more. */
  z.strictObject({ type: z.literal("lease-asked"), by: z.string().nullable() }),
  /** To the page that asked: the page in control offers it what is on; null when it does no more. */
  z.strictObject({ type: z.literal("lease-offered"), by: z.string().nullable() }),
  z.strictObject({ type: z.literal("snapshot"), snapshot: WireSnapshot }),
  /** `gap` says that frames before this one were left out because the page reads too slowly. */
  z.strictObject({ type: z.literal("frame"), feeds: z.array(WireFeedFrame), gap: z.boolean() }),
  z.strictObject({ type: z.literal("bench"), bench: WireBench }),
  z.strictObject({ type: z.literal("board"), board: WireBoard }),
  z.strictObject({ type: z.literal("run-state"), run: WireRun }),
  z.strictObject({ type: z.literal("permit"), permit: Permit }),
  z.strictObject({ type: z.literal("verdict"), verdict: WireVerdict }),
  z.strictObject({ type: z.literal("trip"), run: z.string(), trip: Trip }),
  z.strictObject({ type: z.literal("outcome"), run: z.string(), outcome: RunOutcome }),
  z.strictObject({ type: z.literal("question"), question: WireQuestion.nullable() }),
  z.strictObject({ type: z.literal("alarm"), alarm: WireAlarm.nullable() }),
  /** The finding of the proof after the last cut, for every output of the bench. */
  z.strictObject({ type: z.literal("cut-proof"), output: z.enum(["off", "unknown"]), because: z.string() }),
  z.strictObject({ type: z.literal("log"), line: WireLogLine }),
  z.strictObject({ type: z.literal("jobs"), jobs: z.array(WireJob) }),
  z.strictObject({ type: z.literal("cycles"), cycles: WireCycles }),
  z.strictObject({ type: z.literal("sweep"), sweep: WireSweep }),
  z.strictObject({ type: z.literal("sweep-line"), sweep: z.string(), line: SweepLine }),
  /** Photographs by phone, where the daemon takes them: how they stand. */
  z.strictObject({ type: z.literal("phone"), phone: WirePhone }),
  /** The settings for all commands, sent when a page opens and whenever they change. */
  z.strictObject({ type: z.literal("set-once"), set: WireSetOnce }),
  /** Something was filed in this job. */
  z.strictObject({ type: z.literal("job-changed"), job: z.string() }),
  z.strictObject({ type: z.literal("answer"), id: z.string(), answer: WireAnswer }),
]);
export type WireDown = z.infer<typeof WireDown>;

/** Unique to the page's life; a command sent twice under one id is answered twice and done once. */
const id = z.string().regex(/^[A-Za-z0-9-]{1,64}$/);
/** A command for the page in control alone names its lease, and the time by the daemon's clock after which it is too late. */
const energising = { id, lease: z.number().int(), deadlineMs: z.number() };

/** Page → daemon. `nonce` was asked for when a session was a cookie; it is taken and not looked at. A cut asks for no lease, no deadline and no role. */
export const WireUp = z.discriminatedUnion("type", [
  z.strictObject({
    type: z.literal("hello"),
    protocol: z.number().int(),
    nonce: z.string().max(128).nullable().exactOptional(),
  }),
  z.strictObject({ type: z.literal("take-lease"), id }),
  /** Asks the page in control to hand it over; answered when it did, or said that it keeps it. */
  z.strictObject({ type: z.literal("ask-lease"), id }),
  /** While something is on, a yes is an offer: answered once the page that asked has said whether it takes the watch. */
  z.strictObject({ type: z.literal("hand-over"), id, lease: z.number().int(), yes: z.boolean() }),
  z.strictObject({ type: z.literal("accept-lease"), id, yes: z.boolean() }),
  z.strictObject({ type: z.literal("renew-lease"), lease: z.number().int() }),
  z.strictObject({ type: z.literal("release-lease"), id, lease: z.number().int() }),
  /** Makes the code by which a phone may send photographs into this job, in place of the one before. */
  z.strictObject({ type: z.literal("phone-code"), ...energising, job: short }),
  z.strictObject({ type: z.literal("end-phone-code"), id }),
  z.strictObject({ type: z.literal("preview"), id, request: RunRequest }),
  z.strictObject({
    type: z.literal("start-run"),
    ...energising,
    request: RunRequest,
    cautionsRead: z.literal(true),
    confirmed: Confirmed,
  }),
  z.strictObject({
    type: z.literal("start-sweep"),
    ...energising,
    request: RunRequest,
    /** null: a cold sweep, nothing is energised. */
    powered: z.strictObject({ cautionsRead: z.literal(true), confirmed: Confirmed }).nullable(),
    /** Left out: two wires, no diode mode, the black probe at the board's own ground. */
    how: SweepHow.exactOptional(),
  }),
  /** The probes are held together; their ohms are kept and taken off later readings. */
  z.strictObject({ type: z.literal("null-leads"), ...energising, job: short.nullable() }),
  /** A person's word to a sweep; meant for the rail it names and for no other. */
  z.strictObject({
    type: z.literal("say-sweep"),
    ...energising,
    rail: z.string().max(80).nullable(),
    says: z.union([
      z.strictObject({ word: SweepWord }),
      /** A value read off another meter, in the rail's own unit. */
      z.strictObject({ value: z.union([z.number(), z.literal("open")]) }),
    ]),
  }),
  /** A person's action on the board while it is on; null: its power key, which brings it to its next state of power. */
  z.strictObject({ type: z.literal("mark"), ...energising, text: z.string().trim().min(1).max(200).nullable() }),
  z.strictObject({ type: z.literal("answer"), ...energising, question: z.number().int(), yes: z.boolean() }),
  z.strictObject({ type: z.literal("cut"), id }),
  /** Off by the plan: in reverse order, without hurry. */
  z.strictObject({ type: z.literal("stop"), id }),
]);
export type WireUp = z.infer<typeof WireUp>;

/** The commands that reach the bench: those that are not the wire's own affair. */
export type WireCommand = Extract<
  WireUp,
  { type: "preview" | "start-run" | "start-sweep" | "say-sweep" | "mark" | "null-leads" | "answer" | "cut" | "stop" }
>;
