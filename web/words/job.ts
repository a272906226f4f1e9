import english from "./job.en.json" with { type: "json" };
import { sentences } from "./words.ts";

/** The words of the places of a job: intake, cold readings, notes, repairs. */
export const say = sentences<keyof typeof english>(english, () => import("./job.de.json"));
