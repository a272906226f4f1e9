import english from "./plot.en.json" with { type: "json" };
import { sentences } from "./words.ts";

/** The words of a plot: its cursor, its tools, its captions. */
export const say = sentences<keyof typeof english>(english, () => import("./plot.de.json"));
