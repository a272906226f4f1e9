import english from "./glossary.en.json" with { type: "json" };
import { sentences } from "./words.ts";

export type GlossaryKey = keyof typeof english;

/** The words of the trade and of the program, each with what it means. */
export const say = sentences<GlossaryKey>(english, () => import("./glossary.de.json"));
