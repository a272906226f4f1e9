/** Reads a record for the daemon on a thread of its own; see reads-aside.ts. */
import { workerData } from "node:worker_threads";
import { openJobStore } from "../../job/store/open-job-store.ts";
import { answerAsked, isParts } from "../../system/answer-asked.ts";
import { endingWith } from "../../system/ending-with.ts";
import type { ReadRequest } from "./reads-aside.ts";
import { type RecordReads, recordReads } from "./record-reads.ts";

const { dir } = workerData as { dir: string };

answerAsked(async ({ name, args }: ReadRequest) => {
  // Opened for each question: what was filed meanwhile is seen, and under which origin.
  const store = await openJobStore(dir, { readOnly: true });
  let isReadOn = false;
  try {
    const value = await answered(recordReads(store), name, args);
    isReadOn = isParts(value);
    return isParts(value) ? endingWith(value, () => store.close()) : value;
  } finally {
    if (!isReadOn) await store.close();
  }
});

const answered = (reads: RecordReads, name: keyof RecordReads, args: unknown[]): Promise<unknown> =>
  (reads[name] as (...of: unknown[]) => Promise<unknown>)(...args);
