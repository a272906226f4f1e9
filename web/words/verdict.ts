import english from "./verdict.en.json" with { type: "json" };
import { sentences } from "./words.ts";

/** The words for a run: the class of its draw, why it was cut, its figures, a series of starts. */
export const say = sentences<keyof typeof english>(english, () => import("./verdict.de.json"));
