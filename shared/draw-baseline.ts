import { z } from "zod";

/** The draw of good boards of this kind under the same conditions, by the record, and how sure that is. */
export const DrawBaseline = z.strictObject({
  /** Feeds whose currents are added up. */
  of: z.array(z.string()),
  /** The range in which the next good board will draw, amps; null where nothing comparable is there. */
  band: z.tuple([z.number(), z.number()]).nullable(),
  /**
   * The 95 % prediction interval, the same with what other shops read weighed in, or a fifth about the mean, where fewer than three
   * boards say little of the next.
   */
  kind: z.enum(["prediction", "with-other-shops", "fifth"]).nullable(),
  boards: z.number().int().min(0),
  captures: z.number().int().min(0),
  /** Boards of other shops that were weighed in; left out where there are none. */
  elsewhere: z.number().int().min(1).exactOptional(),
  /** Standard deviations of one board's captures about its mean, and between boards, amps; null not known. */
  withinAmps: z.number().nullable(),
  betweenAmps: z.number().nullable(),
  /** True where the band is as wide as the instruments allow and not as boards differ. */
  atFloor: z.boolean(),
  /** The grounds of the baseline and what was left out, in sentences. */
  because: z.array(z.string()),
});
export type DrawBaseline = z.infer<typeof DrawBaseline>;
