import { z } from "zod";

/** The ohms that the shorted probes read, taken off two-wire ohms from then on. */
export const LeadNull = z.strictObject({
  version: z.literal(1),
  ohms: z.number().min(0).max(2),
  /** Standard deviation of its readings, ohms. */
  spreadOhms: z.number().min(0),
  /** Wall clock. */
  at: z.iso.datetime({ precision: 3 }),
  /** The meter's answer to `*IDN?`: another meter, other leads. */
  meter: z.string(),
});
export type LeadNull = z.infer<typeof LeadNull>;
