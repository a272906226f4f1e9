import { z } from "zod";
import { Accuracy, BenchFile } from "./files/bench-file.ts";
import { DriverFile, MeterRange, OwnDrivers } from "./files/driver-file.ts";
import { MeterFunction, MeterReading, MeterReadSetting } from "./meter-reading.ts";
import { Permit } from "./permit.ts";
import { Plan, PlanEvent, RunOutcome, StageName } from "./plan.ts";
import { FeedReading } from "./reading.ts";
import { RecordedRun } from "./record/recording.ts";

/** Bumped when a message changes its meaning; both sides refuse another's. */
export const IPC_PROTOCOL = 2;

/** The state found on one channel when the instruments were connected; nothing was changed but an output found on. */
export const FoundFeed = z.strictObject({
  feed: z.string(),
  supply: z.string(),
  channel: z.number().int(),
  output: z.enum(["on", "off", "unknown"]),
  /** True where the output was found on and has been cut by us. */
  cutByUs: z.boolean(),
  volts: z.number().nullable(),
  maxVolts: z.number().nullable(),
  maxAmps: z.number().nullable(),
  readIntervalMs: z.number(),
});
export type FoundFeed = z.infer<typeof FoundFeed>;

/** A feed that is not needed and whose supply did not answer: nobody watches it, and a cut does not reach it. */
export const MissingFeed = z.strictObject({ feed: z.string(), supply: z.string(), because: z.string() });
export type MissingFeed = z.infer<typeof MissingFeed>;

export const RoundTrip = z.strictObject({
  p50Ms: z.number().nullable(),
  p99Ms: z.number().nullable(),
  count: z.number().int(),
});
export type RoundTrip = z.infer<typeof RoundTrip>;

export const FoundInstrument = z.strictObject({
  name: z.string(),
  kind: z.enum(["supply", "meter", "recorder"]),
  address: z.string(),
  identity: z.string(),
  serialNumber: z.string().nullable(),
  driver: z.string(),
  /** The driver's file; left out: it came with the program. */
  driverFile: z.string().exactOptional(),
  driverWhy: z.array(z.string()),
  roundTrip: RoundTrip,
  /** Half-widths of its readings, the bench file's where it says so, else the driver's. */
  accuracy: Accuracy.nullable(),
  stepVolts: z.number().nullable(),
  stepAmps: z.number().nullable(),
  offsetAmps: z.number().nullable(),
  riseMs: z.number().nullable(),
  hasOverVoltage: z.boolean(),
  hasOverCurrent: z.boolean(),
  /** A communication watchdog that switches off when the computer goes silent. */
  hasWatchdog: z.boolean(),
  /** The functions of a meter, with the ranges its driver knows, smallest first; none of a supply. */
  functions: z.partialRecord(MeterFunction, z.array(MeterRange)).exactOptional(),
});
export type FoundInstrument = z.infer<typeof FoundInstrument>;

/** The figures that a live run shows between events. */
export const RunProgress = z.strictObject({
  stage: StageName,
  feed: z.string().nullable(),
  waitingFor: z.string(),
  sinceMs: z.number(),
  expectedMs: z.number().nullable(),
  energised: z.array(z.string()),
  /** The question that waits for an answer now; null: none does, and one that was asked before is withdrawn. */
  question: z.number().int().nullable(),
});
export type RunProgress = z.infer<typeof RunProgress>;

/** The question of a run to a person: to raise a limit, or to switch a feed by hand. `question` is its number within the process. */
export const BenchQuestion = z.strictObject({
  question: z.number().int(),
  asks: z.enum(["raise-limit", "manual-on", "manual-off"]),
  feed: z.string(),
  fromAmps: z.number().nullable(),
  toAmps: z.number().nullable(),
  because: z.string(),
});
export type BenchQuestion = z.infer<typeof BenchQuestion>;

const command = { id: z.number().int(), lease: z.number().int(), deadlineMs: z.number() };

/** Daemon → bench process. `deadlineMs` is CLOCK_MONOTONIC milliseconds, which agrees between processes; a cut has none. */
export const ToBench = z.discriminatedUnion("type", [
  z.strictObject({
    type: z.literal("hello"),
    protocol: z.number().int(),
    lease: z.number().int(),
    armDirectory: z.string().nullable(),
  }),
  z.strictObject({ type: z.literal("beat"), lease: z.number().int() }),
  z.strictObject({
    type: z.literal("connect"),
    ...command,
    bench: BenchFile,
    drivers: z.array(DriverFile),
    ownDrivers: OwnDrivers.exactOptional(),
    feeds: z.array(z.string()),
    /** Feeds that are not needed: if their supply does not answer, the others are still connected. */
    mayMiss: z.array(z.string()).exactOptional(),
  }),
  z.strictObject({
    type: z.literal("run"),
    ...command,
    record: z.string(),
    plan: Plan,
    permit: Permit,
    confirmsRaises: z.boolean(),
    /** The trigger for the record of a recorder; left out where there is none, or nothing says it. */
    trigger: z.strictObject({ channel: z.number().int(), level: z.number() }).exactOptional(),
  }),
  z.strictObject({ type: z.literal("answer"), ...command, question: z.number().int(), yes: z.boolean() }),
  /** Ends the run: in reverse order where that is safe, at once elsewhere; a run in preparation does not begin. */
  z.strictObject({ type: z.literal("stop"), ...command, by: z.string() }),
  /** Reads the meter again and again with this setting, in place of the one before. */
  z.strictObject({ type: z.literal("meter-read"), ...command, setting: MeterReadSetting }),
  z.strictObject({ type: z.literal("meter-rest"), ...command }),
  /** Every output off at once. Done whatever else the message holds, and answered by `done` once off is written. */
  z.strictObject({ type: z.literal("cut"), id: z.number().int(), by: z.string() }),
  z.strictObject({ type: z.literal("close"), id: z.number().int() }),
]);
export type ToBench = z.infer<typeof ToBench>;

export const IpcProblem = z.strictObject({
  code: z.string(),
  message: z.string(),
  instrument: z.string().nullable(),
  output: z.enum(["off", "on", "unknown", "untouched"]),
});
export type IpcProblem = z.infer<typeof IpcProblem>;

/** Bench process → daemon. */
export const FromBench = z.discriminatedUnion("type", [
  z.strictObject({
    type: z.literal("hello"),
    protocol: z.number().int(),
    pid: z.number().int(),
    scheduling: z.string(),
  }),
  z.strictObject({ type: z.literal("beat") }),
  z.strictObject({
    type: z.literal("connected"),
    id: z.number().int(),
    instruments: z.array(FoundInstrument),
    feeds: z.array(FoundFeed),
    missing: z.array(MissingFeed).exactOptional(),
  }),
  z.strictObject({ type: z.literal("done"), id: z.number().int() }),
  z.strictObject({ type: z.literal("problem"), id: z.number().int().nullable(), problem: IpcProblem }),
  /** At most 20 a second, and at once when a run's stage changes or it ends. */
  z.strictObject({
    type: z.literal("events"),
    run: z.number().int(),
    events: z.array(PlanEvent),
    progress: RunProgress,
  }),
  z.strictObject({ type: z.literal("question"), ...BenchQuestion.shape }),
  z.strictObject({
    type: z.literal("ended"),
    run: z.number().int(),
    outcome: RunOutcome,
    roundTrip: z.record(z.string(), RoundTrip),
    /** True: a `recording` of this run follows. */
    isRecorded: z.literal(true).exactOptional(),
  }),
  /** The recording of a run, or the reason why there is none. */
  z.strictObject({
    type: z.literal("recording"),
    run: z.number().int(),
    recorded: RecordedRun.nullable(),
    because: z.string().nullable(),
  }),
  /** Readings while no run is on, for the screen only. */
  z.strictObject({ type: z.literal("idle"), readings: z.array(FeedReading) }),
  /** An instrument that is not read answered anyway. */
  z.strictObject({ type: z.literal("answered"), instrument: z.string() }),
  /** At most 20 messages a second; none once the meter rests. */
  z.strictObject({ type: z.literal("meter-readings"), readings: z.array(MeterReading) }),
  /** The finding of the proof after the cut `id`, for every output of the bench. The cut itself is answered by `done` once off is written. */
  z.strictObject({
    type: z.literal("cut-proof"),
    id: z.number().int(),
    output: z.enum(["off", "unknown"]),
    because: z.string(),
  }),
  /** A cut that was not proved yet; repeated while it lasts. */
  z.strictObject({ type: z.literal("alarm"), message: z.string(), output: z.enum(["unknown", "off"]) }),
]);
export type FromBench = z.infer<typeof FromBench>;
