import type { JobStore } from "../store/job-store.ts";
import { runsOf } from "../store/runs-of.ts";
import { type LearnedValue, learnedValues } from "./learned-values.ts";

/** The readings of boards that passed, of the kind this run powered; null where the run knew no kind. */
export async function learnedForRun(
  store: JobStore,
  of: { job: string; run: string },
): Promise<{ board: string; values: LearnedValue[] } | null> {
  const run = runsOf(await store.events(of.job)).find(({ header }) => header.run === of.run);
  const board = run?.header.board?.name;
  return board === undefined ? null : { board, values: await learnedValues(store, board) };
}
