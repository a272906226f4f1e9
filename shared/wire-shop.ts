import { z } from "zod";

const output = z.enum(["on", "off", "unknown"]);
const ms = z.number().min(0);

/** A bench of the shop as another one's page shows it; each figure has its age, by the clock of the bench that sent it. */
export const WireShopBench = z.strictObject({
  bench: z.string(),
  isThis: z.boolean(),
  /** null: nothing is heard of it live. `gone`: by the broker's own word. */
  state: z
    .discriminatedUnion("is", [
      z.strictObject({
        is: z.literal("here"),
        output,
        job: z.string().nullable(),
        /** The title of that job, where this record has it. */
        title: z.string().nullable(),
        stage: z.string().nullable(),
        waitingFor: z.string().nullable(),
        ageMs: ms,
      }),
      z.strictObject({ is: z.literal("gone") }),
    ])
    .nullable(),
  feeds: z.array(
    z.strictObject({ feed: z.string(), output, volts: z.number().nullable(), amps: z.number().nullable() }),
  ),
  feedsAgeMs: ms.nullable(),
  /** Class of the last draw that was judged there. */
  lastClass: z.string().nullable(),
});
export type WireShopBench = z.infer<typeof WireShopBench>;

/** The shop that a bench belongs to, as its page shows it. */
export const WireShop = z.strictObject({
  shop: z.string(),
  bench: z.string(),
  /** null: no database is named. `waiting`: events and files that are not sent yet, `since` when the oldest was filed. */
  record: z
    .strictObject({
      /** null until the first attempt has ended. */
      reachable: z.boolean().nullable(),
      because: z.string().nullable(),
      waiting: z.number().int().min(0),
      since: z.string().nullable(),
      lastAt: z.string().nullable(),
    })
    .nullable(),
  /** null: no broker is named. */
  live: z
    .strictObject({ reachable: z.boolean(), because: z.string().nullable(), ignored: z.number().int().min(0) })
    .nullable(),
  benches: z.array(WireShopBench),
  /** The newest jobs of all benches that this record has. */
  jobs: z.array(
    z.strictObject({
      id: z.string(),
      title: z.string(),
      bench: z.string().nullable(),
      stage: z.string().nullable(),
      result: z.string().nullable(),
      state: z.enum(["open", "done"]),
      lastEventAt: z.string(),
    }),
  ),
});
export type WireShop = z.infer<typeof WireShop>;

/** The answer to a page; null: this bench belongs to no shop. */
export const WireShopAnswer = z.strictObject({ shop: WireShop.nullable() });
