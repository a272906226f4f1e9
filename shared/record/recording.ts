import { z } from "zod";
import { RecorderChannel } from "../files/recorder-entry.ts";

const samples = z.instanceof(Float64Array);

/** One channel as it was fetched, in volts or amps at the board. */
export const RecordedChannel = z.strictObject({
  channel: z.number().int(),
  of: RecorderChannel,
  values: samples,
  /** Half-width of what a value may be off, in its unit: accuracy of full scale, and half a step. */
  halfWidth: z.number().min(0),
  /** Samples at either end of what the instrument can show: the true value may be anything beyond. */
  clipped: z.number().int().min(0),
});
export type RecordedChannel = z.infer<typeof RecordedChannel>;

/** The samples that a recorder took of one run. Sample i is at `firstMs + i·stepMs`; 0 is the instrument's trigger. */
export const RecordedRun = z.strictObject({
  instrument: z.string(),
  identity: z.string(),
  driver: z.string(),
  firstMs: z.number(),
  stepMs: z.number().positive(),
  trigger: z.strictObject({ channel: z.number().int(), level: z.number() }),
  channels: z.array(RecordedChannel).min(1),
});
export type RecordedRun = z.infer<typeof RecordedRun>;

/** The places at which the recorded values were found to fit the readings, or the reason why they are left out. */
export const RecordedFigures = z.strictObject({
  instrument: z.string(),
  /** False: it does not fit what the supply read, and changed nothing. */
  used: z.boolean(),
  sampleMs: z.number().positive(),
  lengthMs: z.number().positive(),
  /** The trigger on the run's own time, milliseconds, with its expanded uncertainty; null where no reading shows the edge. */
  zeroMs: z.number().nullable(),
  zeroExpandedMs: z.number().nullable(),
  /** The highest current of each feed that has a channel for it; a value, not a bound as a slow meter's is, but for what is clipped. */
  peaks: z.record(
    z.string(),
    z.strictObject({
      amps: z.number(),
      expandedAmps: z.number(),
      /** After the trigger. */
      atMs: z.number(),
      isClipped: z.boolean(),
    }),
  ),
  /** True where `features.peakAmps` is the recorder's, because every feed of the draw has a channel; `readPeakAmps` is what the readings showed. */
  coversAll: z.boolean(),
  readPeakAmps: z.number().nullable(),
  /** Period of a draw that comes in pulses; null where none was seen. */
  periodMs: z.number().nullable(),
  because: z.array(z.string()),
});
export type RecordedFigures = z.infer<typeof RecordedFigures>;
