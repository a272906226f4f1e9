import { z } from "zod";
import { DrawLimits } from "./draw-limits.ts";
import { DrawClass } from "./draw-verdict.ts";

/** What a shop knows better than the shipped defaults: `shop.json` in the data directory. Everything may be left out. */
export const ShopSettings = z.strictObject({
  $schema: z.string().optional(),
  version: z.literal(1),
  /** Numbers the draw verdict decides by; a board file's own come before these. */
  drawLimits: DrawLimits.optional(),
  /** Bands, in amps, for a board that has none of its own: a card's 12 V current without host and fans. */
  unknownBoardAmps: z
    .partialRecord(
      DrawClass,
      z.tuple([z.number(), z.number()]).refine(([low, high]) => low < high, {
        message: "should be [low, high] in amps, the low end first",
      }),
    )
    .optional(),
});
export type ShopSettings = z.infer<typeof ShopSettings>;
