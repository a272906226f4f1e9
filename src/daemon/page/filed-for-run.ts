import { BenchError } from "../../../shared/bench-error.ts";
import type { RunRequest as PageRequest } from "../../../shared/wire-request.ts";
import type { JobStore } from "../../job/store/job-store.ts";
import { coldOfJob } from "../run/job-cold.ts";
import type { RunRequest } from "../run/run-request.ts";
import { statedAges } from "./stated-ages.ts";

/**
 * The job's part in a run: its cold readings, and the age of the request's statements. Throws
 * BenchError "bad-input" where a statement counts no more.
 */
export async function filedForRun(
  store: JobStore,
  request: PageRequest,
): Promise<Required<Pick<RunRequest, "filedCold" | "statedAgeMs">>> {
  const job = request.job === null ? null : await store.findJob(request.job);
  const stated = statedAges(request, job === null ? [] : await store.events(job), Date.now());
  if ("because" in stated) throw new BenchError("bad-input", `${stated.because} Nothing was energised.`);
  return { filedCold: await coldOfJob(store, job), statedAgeMs: stated.ages };
}
