import { z } from "zod";

/**
 * One condition that must hold before a feed may be energised. `measured-bad` is never waived; `not-done` and `unknown`
 * are, item by item, by a person with a reason.
 */
export const PermitItem = z.strictObject({
  id: z.string(),
  feed: z.string().nullable(),
  asks: z.string(),
  state: z.enum(["holds", "not-done", "unknown", "measured-bad"]),
  evidence: z.string(),
  ageMs: z.number().nullable(),
  waived: z.strictObject({ reason: z.string() }).nullable(),
});
export type PermitItem = z.infer<typeof PermitItem>;

export const Permit = z.strictObject({
  granted: z.boolean(),
  items: z.array(PermitItem),
  refusedBecause: z.array(z.string()),
});
export type Permit = z.infer<typeof Permit>;

/** Cold readings taken by hand: "aux" or "aux:core" to ohms; "open" is an overload of the meter. */
export const ColdReadings = z.record(z.string(), z.union([z.number().min(0), z.literal("open")]));
export type ColdReadings = z.infer<typeof ColdReadings>;

/** The statements of a run about its surroundings; what it does not state is unknown and widens the verdict. */
export const RunConditions = z.strictObject({
  /** `pulled-up`: none, and a resistor to 3.3 V lets go of the card's reset. */
  host: z.enum(["none", "pulled-up", "attached", "unknown"]),
  fans: z.enum(["on", "off", "unknown"]),
  cooler: z.enum(["bare", "block", "cooler", "unknown"]),
  /** Statements of the person, each true, false or not said. */
  polarityChecked: z.boolean().nullable(),
  commonReturn: z.boolean().nullable(),
  sidebandStrapped: z.boolean().nullable(),
  pairsUnplugged: z.boolean().nullable(),
});
export type RunConditions = z.infer<typeof RunConditions>;
