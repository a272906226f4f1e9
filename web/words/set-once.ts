import english from "./set-once.en.json" with { type: "json" };
import { sentences } from "./words.ts";

/** What stands where things are set once. */
export const say = sentences<keyof typeof english>(english, () => import("./set-once.de.json"));
