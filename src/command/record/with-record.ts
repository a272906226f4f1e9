import { hasJobStore } from "../../job/database/database-path.ts";
import type { JobStore } from "../../job/store/job-store.ts";
import { openJobStore } from "../../job/store/open-job-store.ts";
import { storageProblem } from "../../job/store/storage-problem.ts";
import { dataDirectory } from "../input/data-directory.ts";
import { say } from "../text/people.ts";

/**
 * Opens the record to write, does the work, and closes it whatever comes; `aside` as `openJobStore` has it. Throws BenchError as
 * `openJobStore` does.
 */
export async function withRecord<T>(
  data: string | undefined,
  work: (store: JobStore) => Promise<T>,
  { aside = false } = {},
): Promise<T> {
  return await closingAfter(await openJobStore(dataDirectory(data), { onTrouble: say, aside }), work);
}

/** Opens the record to look, also while another process owns it; where there is none, `nothing` is the answer. */
export async function lookingAtRecord<T>(
  data: string | undefined,
  work: (store: JobStore) => Promise<T>,
  nothing?: () => T,
): Promise<T> {
  const dir = dataDirectory(data);
  if (nothing !== undefined && !hasJobStore(dir)) return nothing();
  return await closingAfter(await openJobStore(dir, { readOnly: true }), work);
}

async function closingAfter<T>(store: JobStore, work: (store: JobStore) => Promise<T>): Promise<T> {
  try {
    return await work(store);
  } catch (cause) {
    throw storageProblem(cause, `Cannot use the job record in ${store.dir}`);
  } finally {
    await store.close();
  }
}
