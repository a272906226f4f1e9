import { z } from "zod";
import { DrawClass } from "./draw-verdict.ts";
import type { BoardFile } from "./files/board-file.ts";
import type { MeterFunction, MeterReading, MeterReadSetting } from "./meter-reading.ts";
import { Trip } from "./plan.ts";
import { AlikeResult, RailAmps } from "./record/alike.ts";
import { Diagnosis, DiagnosisReadings } from "./record/diagnosis.ts";

/** The quantity read at a point: volts of a live board; ohms or diode volts of a cold one. */
export const SweepQuantity = z.enum(["volts", "ohms", "diode"]);
export type SweepQuantity = z.infer<typeof SweepQuantity>;

/** ILAC-G8:09/2019, 4.2.3, and what was not measured. */
export const RailVerdictWord = z.enum(["pass", "conditional-pass", "conditional-fail", "fail", "not-measured"]);
export type RailVerdictWord = z.infer<typeof RailVerdictWord>;

/**
 * The way a value came about: the probe touched and stayed, the person said they were on it, it was typed in, a scanner read
 * it; or why there is none.
 */
export const SweepHow = z.enum(["contact", "take", "typed", "scanner", "skipped", "cannot-reach", "not-visited"]);
export type SweepHow = z.infer<typeof SweepHow>;

/** Which lead was on the point; the other was on ground, or on the second point of a pair. */
export const SweepPolarity = z.enum(["red-on-point", "black-on-point"]);
export type SweepPolarity = z.infer<typeof SweepPolarity>;

/** Words that steer a sweep. */
export const SweepWord = z.enum(["take", "skip", "redo", "cannot-reach", "stop"]);
export type SweepWord = z.infer<typeof SweepWord>;

/** A place the sweep goes to. Values are in the quantity's own unit, volts or ohms; null is not known. */
export interface SweepPoint {
  /** A rail or signal, a feed, a pair "A:B", a point of a group, or a part with a probe on each end. */
  rail: string;
  kind: "rail" | "signal" | "feed" | "pair" | "grouped" | "part";
  /** The group it is visited for; only points of kind "grouped". */
  group?: string;
  /** The place for the probe, in words. */
  point: string;
  quantity: SweepQuantity;
  polarity: SweepPolarity;
  expected: number | null;
  low: number | null;
  high: number | null;
  /** In ohms, below this it is a short. */
  shortBelow: number | null;
  /** True where the limits are the program's own, because the board file gives none. */
  isDefault: boolean;
  /** The most capacitance that may charge at this point, farads. */
  mostFarads?: number;
  setting: MeterReadSetting;
  /** The setting for a value above the range: the highest the board can show. */
  wideSetting: MeterReadSetting | null;
}

/** A value as it was taken, before it is judged. */
export interface SweepCapture {
  /** Index of the point. */
  index: number;
  how: SweepHow;
  /** null: overload, or none taken. */
  value: number | null;
  /** An open circuit in ohms and diode mode; more than any range holds in volts. */
  overload: boolean;
  /** Half-width of what the meter may be off, and standard error of the mean; null not known. */
  halfWidth: number | null;
  standardError: number | null;
  /** The number of readings whose mean the value is. */
  readings: number;
  /** Taken while it still moved: by a person's word, or because it had risen past its low limit. */
  moving: "no" | "rising" | "unsteady";
  /** The rate at which it still rose, the point's unit a second; left out where no rise was seen. */
  risePerSecond?: number;
  /** The value it would come to, by the way it slowed down, with its expanded uncertainty (k = 2); left out where that is not in sight. */
  end?: { value: number; expanded: number };
  /** From contact, or the word, to the value, milliseconds; null without either. */
  tookMs: number | null;
  /** Why it was questioned, and the value that was; this one is the second reading. */
  questioned: { because: string; value: number | null } | null;
  /** True where it stands in for an earlier value of the same point, which is kept. */
  corrects: boolean;
}

/** A point without a reading, and how that came. */
export const withoutReading = (index: number, how: SweepHow): SweepCapture => ({
  index,
  how,
  value: null,
  overload: false,
  halfWidth: null,
  standardError: null,
  readings: 0,
  moving: "no",
  tookMs: null,
  questioned: null,
  corrects: false,
});

export type SweepEvent =
  | { event: "begin"; atMs: number }
  | { event: "reading"; atMs: number; reading: MeterReading }
  | { event: "say"; atMs: number; word: SweepWord }
  | { event: "typed"; atMs: number; quantity: SweepQuantity; value: number | null }
  /** The board goes off, or comes back: what is read in between is nobody's. */
  | { event: "pause"; atMs: number }
  | { event: "resume"; atMs: number }
  /** Time passing, also while the meter says nothing; a few times a second. */
  | { event: "tick"; atMs: number };

/** The state of a live reading: in the air, on the way, moving, rising (charging), steady, or on a charged point. */
export const SweepMotion = z.enum(["lifted", "touching", "moving", "rising", "steady", "charged"]);
export type SweepMotion = z.infer<typeof SweepMotion>;

export type SweepEffect =
  | { effect: "measure"; setting: MeterReadSetting }
  | { effect: "rest" }
  /** The point that comes next; null after the last. The probe may still be on the one before. */
  | { effect: "next"; index: number | null }
  | { effect: "place-probe"; index: number }
  | {
      effect: "show";
      index: number;
      value: number | null;
      overload: boolean;
      motion: SweepMotion;
      nodeVolts: number | null;
    }
  | { effect: "captured"; capture: SweepCapture }
  /** `fits` is the point the value would fit; null where it is questioned for another reason. */
  | { effect: "question"; index: number; value: number | null; because: string; fits: string | null }
  | { effect: "hint"; index: number; text: string }
  | { effect: "finished"; ended: "all-visited" | "stopped" };

/** The good value of a point, in its own unit; null is not known. */
export interface SweepLimits {
  expected: number | null;
  low: number | null;
  high: number | null;
  shortBelow: number | null;
  isDefault: boolean;
}

/** All a sweep is made of. */
export interface SweepPlan {
  board: BoardFile;
  /** Nothing is energised: ohms in place of volts. */
  cold: boolean;
  /** Also the diode mode of the points that have a value for it; cold only. */
  diode: boolean;
  /** Only the points of this group: in diode mode where `diode` is set, else in ohms; cold only. */
  group?: string;
  /** Also the volts over the parts of known ohms; hot only. */
  across?: boolean;
  /** Ohms with four wires. */
  fourWire: boolean;
  leadNullOhms: number | null;
  /** False: the bench has no meter, values are typed in. */
  hasMeter: boolean;
  limitsOf: (point: string, quantity: SweepQuantity) => SweepLimits;
  /** The meter's ranges as its driver has them, smallest first. */
  rangesOf: (measure: MeterFunction) => readonly { upTo: number; share: number; offset: number }[];
  /** The scanner's channel that is wired to a point; null: by hand. */
  channelOf: (point: string) => number | null;
}

/** A sweep under way, without its clock and its meter: takes what happened, answers with what to do. */
export interface SweepSteps {
  readonly points: readonly SweepPoint[];
  /** The point the sweep is at; null before it begins and after it ended. */
  readonly at: SweepPoint | null;
  take(event: SweepEvent): SweepEffect[];
}

/** Begins a sweep; nothing happens before its "begin". */
export type BeginSweep = (plan: SweepPlan) => SweepSteps;

const value = z.number().nullable();
/** The value under its quantity's name: `volts`, `ohms` ("open" for an overload) or `diodeVolts`. */
const valued = {
  volts: value.exactOptional(),
  ohms: z
    .union([z.number(), z.literal("open")])
    .nullable()
    .exactOptional(),
  diodeVolts: z
    .union([z.number(), z.literal("open")])
    .nullable()
    .exactOptional(),
};
const expanded = {
  /** Set in place of an uncertainty where the ohms still rose: they are at least `ohms` and at most this; null, no end was in sight. */
  mostOhms: value.exactOptional(),
  expandedVolts: value.exactOptional(),
  expandedOhms: value.exactOptional(),
};

/** One rail as it was judged and filed. `expandedVolts`/`expandedOhms` is the expanded uncertainty, k = 2. */
export const SweepRail = z.strictObject({
  rail: z.string(),
  quantity: SweepQuantity,
  ...valued,
  ...expanded,
  verdict: RailVerdictWord,
  /** The words in place of the verdict's own, where that would say too much: "cannot be judged", "bias present". */
  said: z.string().max(40).exactOptional(),
  /** Probability that it is within its limits (JCGM 106:2012); null not known. */
  conformity: value,
  limits: z.tuple([value, value]),
  because: z.array(z.string()),
  how: SweepHow,
  polarity: SweepPolarity,
  readings: z.number().int().min(0),
  standardError: value,
  moving: z.enum(["no", "rising", "unsteady"]),
  tookMs: value,
  questioned: z.strictObject({ because: z.string(), value }).nullable(),
  /** True where an earlier value of this rail stands in the record, and this one holds. */
  corrects: z.boolean(),
  /** Set where the board must not be powered with this reading, in a sentence. */
  neverPower: z.string().nullable(),
  /** The group this point was visited for; its ohms say nothing of a rail. */
  group: z.string().exactOptional(),
  /** Set where the volts are those over a part of known ohms: the current of `rail` through it; null without a reading. */
  across: z.strictObject({ rail: z.string(), amps: value, expandedAmps: value }).exactOptional(),
});
export type SweepRail = z.infer<typeof SweepRail>;

/** All points had their turn, a person said stop, it was cut, the board stopped it (a trip), or the bench failed. */
export const SweepEnding = z.enum(["all-visited", "stopped", "cut", "board-stopped", "failed"]);
export type SweepEnding = z.infer<typeof SweepEnding>;

/** The words `motion` and `stable` say the same for people and for programs. */
export const SweepLine = z.discriminatedUnion("event", [
  /** The power-up has been judged and the outputs stay on. */
  z.strictObject({ event: z.literal("draw"), class: DrawClass, watchedFor: z.number() }),
  z.strictObject({
    event: z.literal("place-probe"),
    rail: z.string(),
    point: z.string(),
    quantity: SweepQuantity,
    expected: value,
    limits: z.tuple([value, value]),
    left: z.number().int(),
  }),
  z.strictObject({
    event: z.literal("reading"),
    rail: z.string(),
    ...valued,
    stable: z.boolean(),
    motion: SweepMotion,
  }),
  z.strictObject({
    event: z.literal("question"),
    rail: z.string(),
    ...valued,
    because: z.string(),
    fits: z.string().nullable(),
  }),
  z.strictObject({ event: z.literal("rail"), ...SweepRail.shape }),
  z.strictObject({
    event: z.literal("next"),
    rail: z.string().nullable(),
    point: z.string().nullable(),
    left: z.number().int(),
  }),
  z.strictObject({ event: z.literal("hint"), rail: z.string().nullable(), text: z.string() }),
  /** A person did something to the board while it was on; `state` is the state of power that brings it to, null none. */
  z.strictObject({ event: z.literal("mark"), text: z.string(), state: z.string().nullable() }),
  /** The longest on-time was reached: off, and back by the same stages after this long. */
  z.strictObject({
    event: z.literal("cooling"),
    rail: z.string().nullable(),
    secondsLeft: z.number(),
    because: z.string(),
  }),
  z.strictObject({
    event: z.literal("done"),
    ended: SweepEnding,
    because: z.array(z.string()),
    rails: z.array(SweepRail),
    /** The diagnosis from the readings, as `diagnose` prints it; null where it could not be worked out. */
    diagnosis: Diagnosis.nullable(),
    /** Class of the draw, where it was powered and judged. */
    draw: DrawClass.nullable(),
    /** The readings as `diagnose` takes them. */
    readings: DiagnosisReadings.nullable(),
    neverPower: z.array(z.string()),
    /** The group held against itself; only of a sweep that was asked for one. */
    alike: AlikeResult.exactOptional(),
    /** Currents of rails, from the volts over their parts; only of a sweep that was asked for them. */
    railAmps: z.array(RailAmps).exactOptional(),
    output: z.enum(["off", "on", "unknown"]),
    job: z.string().nullable(),
    trip: Trip.nullable(),
  }),
]);
export type SweepLine = z.infer<typeof SweepLine>;
