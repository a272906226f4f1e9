import english from "./record.en.json" with { type: "json" };
import { sentences } from "./words.ts";

/** The words of the record: the list of jobs, the log, hand-back, comparison, diagnosis, corrections. */
export const say = sentences<keyof typeof english>(english, () => import("./record.de.json"));

/** Whether there is a sentence of that name: a record may hold kinds that this page does not know. */
export const has = (key: string): key is keyof typeof english => Object.hasOwn(english, key);
