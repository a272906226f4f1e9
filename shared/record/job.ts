import { z } from "zod";
import { DrawClass } from "../draw-verdict.ts";
import { MeterReadSetting } from "../meter-reading.ts";
import { ColdReadings } from "../permit.ts";
import { PlanEvent } from "../plan.ts";
import { SweepEnding, SweepRail } from "../sweep.ts";
import { AlikeResult, RailAmps } from "./alike.ts";
import { Cycle, CyclesResult } from "./cycles.ts";
import { Diagnosis } from "./diagnosis.ts";
import { FirmwareImage, FirmwareVerdict } from "./firmware-image.ts";
import { HostChange, HostLook, HostVerdict, PciAddress } from "./host-look.ts";
import { HostTest } from "./host-test.ts";
import { RunEnd, RunHeader } from "./run-record.ts";
import { StartOrder } from "./start-order.ts";

/** Text a person typed, kept as typed; shown only through the escaping of the place it is shown in. */
const words = z.string().max(20_000);
const line = z.string().max(200);
const sha256 = z.string().regex(/^[0-9a-f]{64}$/);

const opened = z.strictObject({
  kind: z.literal("opened"),
  title: line.nullable(),
  board: line.nullable(),
  /** The job of the same board that this one comes back from. */
  comebackOf: z.uuid().exactOptional(),
});

/** The stage of a job between intake and hand-back. */
export const JobStage = z.enum([
  "received",
  "on-bench",
  "waiting-for-owner",
  "waiting-for-parts",
  "on-trial",
  "ready",
  "handed-back",
]);
export type JobStage = z.infer<typeof JobStage>;

/** The job enters a stage; it is in it until it enters the next. */
const stage = z.strictObject({ kind: z.literal("stage"), stage: JobStage, text: words.nullable() });

/** The owner's words and the things that came in with the board; what was not asked is left out. */
const intake = z.strictObject({
  kind: z.literal("intake"),
  owner: line.optional(),
  ownersWords: words.optional(),
  symptom: words.optional(),
  since: line.optional(),
  tried: words.optional(),
  liquid: z.boolean().optional(),
  dropped: z.boolean().optional(),
  repairedBefore: z.boolean().optional(),
  serialNumber: line.optional(),
  cameWith: words.optional(),
  approvedUpTo: line.optional(),
});

const note = z.strictObject({
  kind: z.literal("note"),
  text: words,
  /** The run that it is of, and the moment in it, milliseconds since its begin. */
  of: z.strictObject({ run: z.uuid(), atMs: z.number().min(0) }).exactOptional(),
});

/** A file kept by its hash; `name` is for reading only, never a path. */
const attachment = z.strictObject({
  kind: z.literal("attachment"),
  sha256,
  name: z.string().min(1).max(120),
  mediaType: line,
  bytes: z.number().int().min(0),
  caption: line.nullable(),
  /** Left out: from a file of this machine. */
  by: z.literal("phone").exactOptional(),
});

/** The probes were held together and their ohms kept, to be taken off two-wire readings. */
const leadNull = z.strictObject({
  kind: z.literal("lead-null"),
  ohms: z.number().min(0),
  spreadOhms: z.number().min(0),
  /** The meter's answer to `*IDN?`. */
  meter: line,
});

const coldReadings = z.strictObject({
  kind: z.literal("cold-readings"),
  ohms: ColdReadings,
  /** Typed in by a person, or read from a meter. */
  by: z.enum(["hand", "meter"]),
  boardCelsius: z.number().nullable(),
  /** Points that were read with four wires, or as volts at a known current. */
  fourWire: z.array(z.string().max(80)).max(200).exactOptional(),
});

/** A sweep of a board's points began; `runs` that power it name it in none of their own events. */
const sweepStarted = z.strictObject({
  kind: z.literal("sweep-started"),
  sweep: z.uuid(),
  /** True where nothing was energised: ohms in place of volts. */
  cold: z.boolean(),
  board: line,
  points: z.array(line),
  /** null: values were typed in. */
  meter: z.strictObject({ name: line, identity: line, leadNullOhms: z.number().nullable() }).nullable(),
});

/** One value of a sweep as it was judged. `corrects` is the earlier value that it stands in for, which is kept. */
const sweepRail = z.strictObject({
  kind: z.literal("sweep-rail"),
  sweep: z.uuid(),
  /** The run that held the board on; null where it was off. */
  run: z.uuid().nullable(),
  rail: SweepRail,
  setting: MeterReadSetting,
  corrects: z.uuid().nullable(),
});

const sweepEnded = z.strictObject({
  kind: z.literal("sweep-ended"),
  sweep: z.uuid(),
  runs: z.array(z.uuid()),
  ended: SweepEnding,
  because: z.array(words),
  draw: DrawClass.nullable(),
  diagnosis: Diagnosis.nullable(),
  neverPower: z.array(words),
  /** The kinds of point it was asked for beside the rails. */
  alike: AlikeResult.exactOptional(),
  railAmps: z.array(RailAmps).exactOptional(),
});

const runStarted = z.strictObject({ kind: z.literal("run-started"), header: RunHeader });

/** The events of a run but for its readings, which the capture holds. */
const runEvents = z.strictObject({
  kind: z.literal("run-events"),
  run: z.uuid(),
  events: z
    .array(PlanEvent)
    .min(1)
    .max(10_000)
    .refine((events) => events.every((each) => each.event !== "reading"), {
      message: "holds a reading; readings belong in the capture",
    }),
});

const runEnded = z.strictObject({ kind: z.literal("run-ended"), end: RunEnd });

/** `source` "unknown" is said in the report, never left out. */
const RepairPart = z.strictObject({
  name: line,
  place: line.nullable(),
  source: z.enum(["new", "donor", "reused", "unknown"]),
});
const repair = z.strictObject({ kind: z.literal("repair"), text: words, parts: z.array(RepairPart).max(200) });

/**
 * The result of the board, as the person says who worked on it. `passed` makes the draws since its last repair those of a good board;
 * a later `failed` or `returned` takes that back.
 */
const result = z.strictObject({
  kind: z.literal("result"),
  result: z.enum(["passed", "failed", "returned"]),
  text: words.nullable(),
});

const reportMade = z.strictObject({
  kind: z.literal("report-made"),
  name: line,
  sha256,
});

/** A test host's view of the board, with its meaning. `attachment` is the file it came in. */
const hostLook = z.strictObject({
  kind: z.literal("host-look"),
  attachment: sha256,
  /** `control`: a known good card was in the port. */
  of: z.enum(["board", "control"]),
  port: PciAddress.nullable(),
  look: HostLook,
  changes: z.array(HostChange).max(10_000),
  /** The lead of the host's clock over the bench's, milliseconds; null: not stated, taken as none. */
  clockAheadMs: z.number().nullable(),
  verdict: HostVerdict,
});

/** A test done elsewhere. */
const test = z.strictObject({ kind: z.literal("test"), test: HostTest });

/** The order and times of a start, from an attached trace. */
const startOrder = z.strictObject({ kind: z.literal("start-order"), attachment: sha256, result: StartOrder });

/** The content of a dump of the board's firmware. */
const firmware = z.strictObject({
  kind: z.literal("firmware"),
  attachment: sha256,
  image: FirmwareImage,
  verdict: FirmwareVerdict,
});

/** Many power-ups one after the other; each is a run of its own. */
const cycles = z.strictObject({ kind: z.literal("cycles"), cycles: z.array(Cycle).max(100_000), result: CyclesResult });

/** An answer that is corrected to this says nothing any more: its check counts as not answered. */
export const TAKEN_BACK = "taken-back";

/** The answer to a look or a trial that the diagnosis asked for, or what was stated of the host or the state of power. */
const answer = z.strictObject({
  kind: z.literal("answer"),
  /** A check by name, "lanes" or "enable core"; "host" or "state". */
  to: line.min(1),
  answer: line.min(1),
});

/**
 * The job came from another record, as an archive that was taken in here. `by` are the benches that its events name; an
 * archive is not signed, so that nothing proves who wrote them. Never part of an archive itself.
 */
const imported = z.strictObject({
  kind: z.literal("imported"),
  file: line,
  sha256,
  bytes: z.number().int().min(0),
  events: z.number().int().min(1),
  by: z.array(line),
  signed: z.literal(false),
});

/** Something went wrong at the bench: a process died, a cut could not be proved, an output was found on. */
const incident = z.strictObject({
  kind: z.literal("incident"),
  text: words,
  instrument: line.nullable(),
  run: z.uuid().nullable(),
  output: z.enum(["off", "on", "unknown"]),
});

/** Kinds a person writes, and so may put right. What the bench saw stands as it was seen. */
export const CorrectableEvent = z.discriminatedUnion("kind", [
  opened,
  intake,
  note,
  attachment,
  coldReadings,
  repair,
  result,
  test,
  stage,
  answer,
]);
export type CorrectableEvent = z.infer<typeof CorrectableEvent>;

/** Says that an earlier event should have read otherwise. Both stay: the original is never edited. */
const correction = z.strictObject({
  kind: z.literal("correction"),
  of: z.uuid(),
  because: words,
  event: CorrectableEvent,
});

/** One event of a job. A job is the list of these, in the order they were filed. */
export const JobEvent = z.discriminatedUnion("kind", [
  opened,
  intake,
  note,
  attachment,
  leadNull,
  coldReadings,
  sweepStarted,
  sweepRail,
  sweepEnded,
  runStarted,
  runEvents,
  runEnded,
  repair,
  result,
  stage,
  reportMade,
  hostLook,
  test,
  startOrder,
  firmware,
  cycles,
  answer,
  imported,
  incident,
  correction,
]);
export type JobEvent = z.infer<typeof JobEvent>;
export type JobEventOf<K extends JobEvent["kind"]> = Extract<JobEvent, { kind: K }>;

/**
 * An event as it was filed: `seq` is its place in the job, from 1, `recordedAt` the wall clock of the bench that filed it.
 * Another bench's events can come in between, which moves the places after them.
 */
export const StoredEvent = z.strictObject({
  id: z.uuid(),
  seq: z.number().int().min(1),
  recordedAt: z.iso.datetime({ precision: 3 }),
  event: JobEvent,
  /** Which bench filed it, as "NAME~DIGITS"; left out for events from before that was kept. */
  origin: z.string().exactOptional(),
});
export type StoredEvent = z.infer<typeof StoredEvent>;

/** `open` while readings come in, `closed` when it ended, `recovered` when its process died before that. */
export const CaptureState = z.enum(["open", "closed", "recovered"]);
export type CaptureState = z.infer<typeof CaptureState>;

/** The capture that holds the readings of one run. */
export const CaptureEntry = z.strictObject({ id: z.uuid(), run: z.uuid(), state: CaptureState });
export type CaptureEntry = z.infer<typeof CaptureEntry>;

export const JobSummary = z.strictObject({
  job: z.uuid(),
  short: z.string(),
  title: z.string().nullable(),
  board: z.string().nullable(),
  createdAt: z.iso.datetime({ precision: 3 }),
  events: z.number().int(),
  runs: z.number().int(),
  lastEventAt: z.iso.datetime({ precision: 3 }),
  lastClass: z.string().nullable(),
  /** The last result that was filed. */
  result: z.string().nullable(),
  stage: z.string().nullable(),
  /** `done`: handed back by its stages, or passed or failed where it has none. */
  state: z.enum(["open", "done"]),
  /** The bench that opened it; null for jobs from before that was kept. */
  bench: z.string().nullable(),
});
export type JobSummary = z.infer<typeof JobSummary>;

/** The whole of one job as `job show --json` prints it. */
export const JobRecord = z.strictObject({
  ...JobSummary.shape,
  captures: z.array(CaptureEntry),
  log: z.array(StoredEvent),
});
export type JobRecord = z.infer<typeof JobRecord>;
