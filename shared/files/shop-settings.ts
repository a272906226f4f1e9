import { z } from "zod";
import { DrawClass } from "../draw-verdict.ts";
import { DrawLimits } from "./draw-limits.ts";

/** The servers by which several benches keep one record, and the name of this bench there. */
export const SharedShop = z.strictObject({
  /** Part of the topics of what is live, so that two shops may use one broker. */
  shop: z.string().regex(/^[a-z0-9-]{1,40}$/, { message: "should be 1 to 40 of a-z, 0-9 and -" }),
  /** This bench's name, another one than any other bench has. */
  bench: z.string().regex(/^[a-z0-9-]{1,40}$/, { message: "should be 1 to 40 of a-z, 0-9 and -" }),
  /** The shop's database, a connection string of PostgreSQL; the password belongs in PGPASSWORD or the password file. */
  record: z
    .string()
    .regex(/^postgres(ql)?:\/\//, { message: "should begin with postgresql://" })
    .optional(),
  /** The broker of what is live, MQTT 5; `?ca=FILE` names who signed its certificate; the password belongs in FIRSTAMP_LIVE_PASSWORD. */
  live: z
    .string()
    .regex(/^mqtts?:\/\//, { message: "should begin with mqtt:// or mqtts://" })
    .optional(),
});
export type SharedShop = z.infer<typeof SharedShop>;

/** The values that a shop knows better than the shipped defaults: `shop.json` in the data directory. Everything may be left out. */
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
  shared: SharedShop.optional(),
});
export type ShopSettings = z.infer<typeof ShopSettings>;
