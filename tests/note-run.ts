import { appendFileSync } from "node:fs";

const file = process.env["FIRSTAMP_RUNS_FILE"];

/**
 * Counts a run in real time for the last lines of `npm test`. `doneAgain` says why the run is done again where the machine
 * was too busy for it; null where its result was used.
 */
export function noteRun(doneAgain: string | null): void {
  if (file !== undefined) appendFileSync(file, `${JSON.stringify({ doneAgain })}\n`);
}
