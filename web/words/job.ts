import english from "./job.en.json" with { type: "json" };
import { sentences } from "./words.ts";

/** What the places of a job say: intake, cold readings, notes, repairs. */
export const say = sentences<keyof typeof english>(english, () => import("./job.de.json"));
