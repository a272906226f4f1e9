import { z } from "zod";

/** One channel of a recorder: what it is on, and what its volts mean. */
export const RecorderChannel = z
  .strictObject({
    /** A feed or rail of the board file. */
    point: z.string().min(1).max(32),
    reads: z.enum(["volts", "amps"]),
    /** Of a supply's buffer: the supply's channel; left out, the number of this one. */
    output: z.number().int().min(1).max(32).optional(),
    /** The probe divides by this: 10 for a ×10 probe that the recorder does not know of. Default 1. */
    probe: z.number().positive().max(10_000).default(1),
    /** Amps: resistance of the shunt the channel is across, ohms. */
    shuntOhms: z.number().positive().max(1000).optional(),
    /** Amps: volts that a current probe gives for one amp. */
    voltsPerAmp: z.number().positive().max(1000).optional(),
    /** Full scale to set, volts at the input; left out: as it stands on the instrument. */
    rangeVolts: z.number().positive().max(1000).optional(),
    /** Half-width of what it may be off, as a share of full scale; 0.03 where it is not said (common practice, no source). */
    accuracyShare: z.number().min(0).max(0.5).optional(),
  })
  .refine((channel) => (channel.shuntOhms ?? channel.voltsPerAmp) === undefined || isOne(channel), {
    message: 'has "shuntOhms" and "voltsPerAmp"; it should have one of them',
  })
  .refine((channel) => channel.reads === "amps" || (channel.shuntOhms ?? channel.voltsPerAmp) === undefined, {
    message: 'reads volts, so it has neither "shuntOhms" nor "voltsPerAmp"',
  });
export type RecorderChannel = z.infer<typeof RecorderChannel>;

function isOne({
  shuntOhms,
  voltsPerAmp,
}: {
  shuntOhms?: number | undefined;
  voltsPerAmp?: number | undefined;
}): boolean {
  return (shuntOhms === undefined) !== (voltsPerAmp === undefined);
}

/** The settings by which a recorder records each run. */
export const Recording = z.strictObject({
  channels: z
    .record(z.string().regex(/^[1-9]\d?$/, "a channel is its number"), RecorderChannel)
    .refine((channels) => Object.keys(channels).length > 0, { message: "is empty; it should name a channel" }),
  /** The time it records after the trigger, seconds; a tenth more before it. */
  seconds: z.number().min(0.001).max(60).default(0.5),
  /** Its trigger; left out: the first channel that reads volts, at half of that point's nominal. */
  trigger: z
    .strictObject({
      channel: z.number().int().min(1).max(99),
      /** In the channel's own unit: volts or amps of the board. */
      level: z.number().min(-1000).max(1000),
    })
    .optional(),
});
export type Recording = z.infer<typeof Recording>;
