import english from "./host.en.json" with { type: "json" };
import { sentences } from "./words.ts";

/** Sentences on the test host: its looks, its tests. */
export const say = sentences<keyof typeof english>(english, () => import("./host.de.json"));
