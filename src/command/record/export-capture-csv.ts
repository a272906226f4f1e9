import { createWriteStream } from "node:fs";
import { pipeline } from "node:stream/promises";
import { BenchError, quoted } from "../../../shared/bench-error.ts";
import { runCsvParts } from "../../daemon/run/run-csv.ts";
import { storedRun } from "../../daemon/run/stored-run.ts";
import type { JobStore } from "../../job/store/job-store.ts";
import { storageProblem } from "../../job/store/storage-problem.ts";

/**
 * Writes the readings of a job's last run as CSV with the stage, set-point and limit of each, so that `classify` comes to the
 * run's own verdict (of a run so long that it was thinned while it lasted, to one on every reading). Throws BenchError "bad-input" where there is no run or the file is there already.
 */
export async function exportCaptureCsv(
  store: JobStore,
  job: string,
  out: string,
): Promise<{ capture: string; done: "written" }> {
  const run = await storedRun(store, job);
  if (run === null) throw new BenchError("bad-input", "The job has no run; nothing was written");
  try {
    await pipeline(runCsvParts(run), createWriteStream(out, { flags: "wx" }));
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
