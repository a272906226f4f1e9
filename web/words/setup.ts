import english from "./setup.en.json" with { type: "json" };
import { sentences } from "./words.ts";

/** What the first set-up and a rehearsal say. */
export const say = sentences<keyof typeof english>(english, () => import("./setup.de.json"));
