import english from "./help.en.json" with { type: "json" };
import { sentences } from "./words.ts";

export type HelpKey = keyof typeof english;

/** A sentence for each field: what belongs into it, and why. */
export const say = sentences<HelpKey>(english, () => import("./help.de.json"));
