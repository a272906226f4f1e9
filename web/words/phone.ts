import english from "./phone.en.json" with { type: "json" };
import { sentences } from "./words.ts";

/** What stands where a code for a phone is made. */
export const say = sentences<keyof typeof english>(english, () => import("./phone.de.json"));
