import { z } from "zod";
import { DrawClass } from "../draw-verdict.ts";

/** Ohms, or "open" for a meter that showed overload. */
const ColdReading = z.union([z.number().min(0).max(1e38), z.literal("open"), z.literal("OL")]);
/** Volts of a steady reading, or "pulsing" for one that comes and goes. */
const VoltsReading = z.union([z.number().min(-100).max(100), z.literal("pulsing")]);

/** The source of the signals that a host drives: nothing, a resistor to 3.3 V that lets go of reset, or a host. */
export const HostCondition = z.enum(["none", "pulled-up", "attached"]);
export type HostCondition = z.infer<typeof HostCondition>;

/** The readings of a board so far; everything may be left out. Points are the board file's own names. */
export const DiagnosisReadings = z.strictObject({
  draw: DrawClass.optional(),
  /** Left out: nobody said. A host that looked ("host-look" among the checks) is attached. */
  host: HostCondition.optional(),
  /** The state of power the volts were read in, by the board file's name; left out: as far as the readings show. */
  state: z.string().optional(),
  /** Rails, feeds, or "A:B" between two of them, to ohms; board cold and off. */
  coldOhms: z.record(z.string(), ColdReading).default({}),
  /** The same once more with the leads the other way round. */
  coldOhmsReversed: z.record(z.string(), ColdReading).default({}),
  /** And with four wires, which leads and contacts have no part in. */
  coldOhmsFourWire: z.record(z.string(), ColdReading).default({}),
  volts: z.record(z.string(), VoltsReading).default({}),
  signals: z.record(z.string(), VoltsReading).default({}),
  /** Volts of rails and signals read a second time, the probe lifted in between. */
  again: z.record(z.string(), VoltsReading).default({}),
  /** Other checks by name, "CHECK" or "CHECK POINT", to one of their answers. */
  checks: z.record(z.string(), z.string()).default({}),
  /** Points, or measurements by name, that are not to be proposed. */
  cannotReach: z.array(z.string()).default([]),
});
export type DiagnosisReadings = z.infer<typeof DiagnosisReadings>;

const probability = z.number().min(0).max(1);

/** One way an element may have failed, and what stands behind it. */
export const FaultCandidate = z.strictObject({
  /** A feed, rail or signal by the board file's name, or a part like "firmware". */
  element: z.string(),
  kind: z.string(),
  probability,
  because: z.array(z.string()),
  /** The faults of the fault data this sums up, likeliest first. */
  causes: z.array(z.strictObject({ fault: z.string(), what: z.string(), probability })),
  /** Other elements that failed too, where two faults are needed. */
  also: z.array(z.strictObject({ element: z.string(), kind: z.string() })),
  /** The number of independent readings that point to a chip, if the repair would be a new chip. Two are required. */
  chipProofs: z.number().int().nullable(),
});
export type FaultCandidate = z.infer<typeof FaultCandidate>;

export const NextMeasurement = z.strictObject({
  measure: z.string(),
  minutes: z.number(),
  /** 0 none to 3. */
  risk: z.number(),
  expectedDropBits: z.number(),
  because: z.string(),
  /** The action, in words. */
  ask: z.string(),
  /** True: the board has to be powered for it. */
  energises: z.boolean(),
  /** The place of the answer in the readings. */
  record: z.strictObject({ in: z.string(), point: z.string().nullable(), answers: z.array(z.string()).nullable() }),
});
export type NextMeasurement = z.infer<typeof NextMeasurement>;

export const Diagnosis = z.strictObject({
  faults: z.array(FaultCandidate),
  next: z.array(NextMeasurement),
  entropyBits: z.number(),
  shortProbability: probability,
  /** Why measurements that energise are held back; null while they are not. */
  held: z.string().nullable(),
  /** The grounds of the probabilities besides the readings. */
  notes: z.array(z.string()),
  /** A caution about them, from a study of the fault finder itself; left out in records from before it was said. */
  caution: z.string().exactOptional(),
});
export type Diagnosis = z.infer<typeof Diagnosis>;
