import english from "./shell.en.json" with { type: "json" };
import { sentences } from "./words.ts";

export type ShellKey = keyof typeof english;

/** The words that the page always shows: places, state, dock, alarm, cut, questions, the strips of the feeds, the permit. */
export const say = sentences<ShellKey>(english, () => import("./shell.de.json"));
