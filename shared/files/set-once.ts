import { z } from "zod";
import { Remembered } from "./remembered.ts";

const { host, fans, cooler } = Remembered.shape;
const Name = z.enum(["bench", "board", "host", "fans", "cooler", "job"]);

/** The settings for all commands of a data directory, as the page shows them; null: not set. */
export const WireSetOnce = z.strictObject({
  bench: z.string().nullable(),
  board: z.string().nullable(),
  host: host.unwrap().nullable(),
  fans: fans.unwrap().nullable(),
  cooler: cooler.unwrap().nullable(),
  job: z.strictObject({ id: z.string(), title: z.string() }).nullable(),
  /** The reason why the settings cannot be read; null: they can. */
  problem: z.string().nullable(),
});
export type WireSetOnce = z.infer<typeof WireSetOnce>;

/** A change of it: what is named is set or forgotten, the rest stays. The content of a file says what it is. */
export const SetOnceBody = z.strictObject({
  file: z.string().trim().min(1).max(1000).exactOptional(),
  host,
  fans,
  cooler,
  job: z.string().min(1).max(64).exactOptional(),
  forget: z.array(Name).max(6).exactOptional(),
});
export type SetOnceBody = z.infer<typeof SetOnceBody>;
