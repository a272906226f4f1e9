import { z } from "zod";

/** The reason why a phone's code is over: its time, a person, too many wrong tries, the job was handed back, as much came as may come. */
export const PhoneEnd = z.enum(["time", "withdrawn", "wrong-codes", "job-closed", "full"]);
export type PhoneEnd = z.infer<typeof PhoneEnd>;

/** Photographs by phone as every page is told of them; the code itself is told only to the page that made it. */
export const WirePhone = z.strictObject({
  /** Addresses at which a phone finds the form: one for each way by which this machine can be reached. */
  addresses: z.array(z.string()),
  /** The code in force; null: there is none. */
  code: z
    .strictObject({
      job: z.string(),
      secondsLeft: z.number(),
      /** True once a phone has it. */
      used: z.boolean(),
      photographs: z.number().int(),
    })
    .nullable(),
  /** The end of the last code; null where one is in force, and before the first. */
  ended: PhoneEnd.nullable(),
});
export type WirePhone = z.infer<typeof WirePhone>;

/** A phone's first message: the code that a person typed. */
export const PhoneCodeBody = z.strictObject({ code: z.string().max(64) });

/** The query that goes with the bytes of a photograph. */
export const PhotographQuery = z.strictObject({
  name: z.string().min(1).max(300),
  caption: z.string().trim().max(200).optional(),
});
