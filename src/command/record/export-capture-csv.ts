import { createWriteStream } from "node:fs";
import { pipeline } from "node:stream/promises";
import { BenchError, quoted } from "../../../shared/bench-error.ts";
import { runCsvParts } from "../../daemon/run/run-csv.ts";
import { openRun } from "../../daemon/run/stored-run.ts";
import type { JobStore } from "../../job/store/job-store.ts";
import { storageProblem } from "../../job/store/storage-problem.ts";

export interface CsvWanted {
  /** Of a run that is not the last one: its capture. */
  capture?: string;
  /** Only readings from then on, and up to then, milliseconds since the run began. */
  fromMs?: number;
  toMs?: number;
}

/**
 * Writes the readings of a job's last run as CSV with the stage, set-point and limit of each, so that `classify` comes to the
 * run's own verdict (of a run so long that it was thinned while it lasted, to one on every reading); or those of another run, or of a
 * part of it. Throws BenchError "bad-input" where there is no such run or the file is there already.
 */
export async function exportCaptureCsv(
  store: JobStore,
  job: string,
  out: string,
  wanted: CsvWanted = {},
): Promise<{ capture: string; done: "written" }> {
  const run = await openRun(store, job, await runOf(store, job, wanted.capture));
  if (run === null) throw new BenchError("bad-input", "The job has no run; nothing was written");
  const isPart = wanted.fromMs !== undefined || wanted.toMs !== undefined;
  const window = { fromMs: wanted.fromMs ?? 0, toMs: wanted.toMs ?? Number.POSITIVE_INFINITY };
  const parts = runCsvParts(run, isPart ? window : null);
  if (parts === null) throw new BenchError("bad-input", "That time has no reading; nothing was written");
  try {
    await pipeline(parts, createWriteStream(out, { flags: "wx" }));
  } catch (cause) {
    if (cause instanceof Error && "code" in cause && cause.code === "EEXIST") {
      throw new BenchError(
        "bad-input",
        `Cannot write ${quoted(out)}: the file exists already; nothing was written, give another name`,
        { cause },
      );
    }
    throw storageProblem(cause, `Cannot write ${quoted(out)}`);
  }
  return { capture: run.header.capture, done: "written" };
}

async function runOf(store: JobStore, job: string, capture: string | undefined): Promise<string | null> {
  if (capture === undefined) return null;
  const found = await store.findCapture(capture);
  if (found.job === job) return found.run;
  throw new BenchError("bad-input", `The capture ${quoted(capture)} belongs to another job; nothing was written`);
}
