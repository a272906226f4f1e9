import { z } from "zod";
import { SerialSettings } from "./files/bench-file.ts";

/** The data that the guardian gets of one supply: literal bytes, nothing it would have to work out. */
export const ArmedSupply = z.strictObject({
  name: z.string(),
  address: z.string(),
  serial: SerialSettings,
  /** Written before anything is asked, each in one piece, milliseconds after the link opened: off at once, and again. */
  off: z.array(z.strictObject({ afterMs: z.number().min(0), text: z.string() })).min(1),
  /** Least pause before each question, milliseconds; an instrument that needs one drops what comes sooner. */
  gapMs: z.number().min(0),
  /** The longest time an answer may take, milliseconds. */
  replyMs: z.number().positive(),
  /** Questions whose every answer must be one of `offAnswers`, in any case. */
  state: z.array(z.string()),
  offAnswers: z.array(z.string()),
  current: z.array(z.string()),
  /** A current up to this counts as none, amps. */
  zeroAmps: z.number().positive(),
  /** Questions for the volts of each channel, which must be gone or fall; none in files of earlier versions. */
  volts: z.array(z.string()).default([]),
  /** The step of those volts, null where it is not known. */
  stepVolts: z.number().nullable().default(null),
  identityQuery: z.string(),
  identity: z.string(),
});
export type ArmedSupply = z.infer<typeof ArmedSupply>;

/** The arm file: all the guardian needs when the bench process is gone. */
export const ArmFile = z.strictObject({
  version: z.literal(1),
  /** Capture id of the run, so that an incident finds its job. */
  record: z.string(),
  benchPid: z.number().int().positive(),
  /** Start time of that process in clock ticks (field 22 of /proc/PID/stat), so that another's pid is never ended. */
  benchStart: z.string().nullable(),
  supplies: z.array(ArmedSupply).min(1),
});
export type ArmFile = z.infer<typeof ArmFile>;

/** Left by the guardian for the next start, which makes a job event of it. */
export const Incident = z.strictObject({
  version: z.literal(1),
  record: z.string(),
  why: z.string(),
  at: z.string(),
  tookMs: z.number(),
  supplies: z.array(
    z.strictObject({
      name: z.string(),
      output: z.enum(["off", "unknown"]),
      detail: z.string(),
    }),
  ),
});
export type Incident = z.infer<typeof Incident>;

export const ToGuardian = z.discriminatedUnion("type", [
  z.strictObject({ type: z.literal("arm"), id: z.number().int(), arm: ArmFile }),
  z.strictObject({ type: z.literal("disarm") }),
  z.strictObject({ type: z.literal("beat") }),
]);
export type ToGuardian = z.infer<typeof ToGuardian>;

export const FromGuardian = z.discriminatedUnion("type", [
  z.strictObject({ type: z.literal("armed"), id: z.number().int() }),
  z.strictObject({ type: z.literal("refused"), id: z.number().int(), because: z.string() }),
  z.strictObject({ type: z.literal("beat") }),
]);
export type FromGuardian = z.infer<typeof FromGuardian>;
