import english from "./setup.en.json" with { type: "json" };
import { sentences } from "./words.ts";

/** The words of the first set-up and of a rehearsal. */
export const say = sentences<keyof typeof english>(english, () => import("./setup.de.json"));
