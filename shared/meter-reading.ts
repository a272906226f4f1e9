import { z } from "zod";

export const MeterFunction = z.enum(["volts", "ohms", "fourWireOhms", "diode"]);
export type MeterFunction = z.infer<typeof MeterFunction>;

/**
 * The question that the meter asks again and again until told otherwise. In ohms and diode mode the volts of the point are
 * read first at each contact, by the bench process, so that nobody who asks can leave it out.
 */
export const MeterReadSetting = z.strictObject({
  function: MeterFunction,
  /** The greatest value to come, volts or ohms; null, the meter ranges by itself. */
  rangeUpTo: z.number().positive().nullable(),
  /** Integration time in power line cycles; null, the meter's own. */
  powerLineCycles: z.number().positive().max(1000).nullable(),
  /** The scanner's channel; null, the probe. */
  channel: z.number().int().min(0).max(99_999).nullable(),
  /** Ohms of the shorted probes, taken off two-wire ohms; null where no null was stored. */
  leadNullOhms: z.number().min(0).max(2).nullable(),
});
export type MeterReadSetting = z.infer<typeof MeterReadSetting>;

/**
 * One reading of the meter. Times are CLOCK_MONOTONIC milliseconds: `queriedAtMs` when the question was written, `atMs`
 * when its answer was complete. `overload` is an open circuit in ohms and diode mode, more than the range holds in volts;
 * `charged` is a point that must be discharged before ohms or diode mode tell anything, its volts in `nodeVolts`.
 */
export const MeterReading = z.strictObject({
  queriedAtMs: z.number(),
  atMs: z.number(),
  /** The function asked for; a `charged` reading stands for one of it that was not taken. */
  function: MeterFunction,
  channel: z.number().int().nullable(),
  kind: z.enum(["value", "overload", "no-reading", "charged"]),
  /** Volts or ohms, the lead null already taken off; null but for `value`. */
  value: z.number().nullable(),
  /** Half-width of what the value may be off, its own unit, rectangular; null if not stated. */
  halfWidth: z.number().min(0).nullable(),
  /** The ohms taken off this reading for the leads; null for none. */
  leadNullOhms: z.number().min(0).nullable(),
  /** Volts found on the point before this reading; null in volts, and before the first look. */
  nodeVolts: z.number().nullable(),
});
export type MeterReading = z.infer<typeof MeterReading>;
