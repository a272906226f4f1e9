import english from "./probe.en.json" with { type: "json" };
import { sentences } from "./words.ts";

/** The words of a sweep: the rail to probe, what it reads, and what came of it. */
export const say = sentences<keyof typeof english>(english, () => import("./probe.de.json"));
