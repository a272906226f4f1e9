/** Reads a record for the daemon on a thread of its own; see reads-aside.ts. */
import { workerData } from "node:worker_threads";
import { openJobStore } from "../../job/store/open-job-store.ts";
import { answerAsked } from "../../system/answer-asked.ts";
import type { ReadRequest } from "./reads-aside.ts";
import { type RecordReads, recordReads } from "./record-reads.ts";

const { dir } = workerData as { dir: string };

answerAsked(async ({ name, args }: ReadRequest) => {
  // Opened for each question: what was filed meanwhile is seen, and under which origin.
  const store = await openJobStore(dir, { readOnly: true });
  let isReadOn = false;
  try {
    const value = await answered(recordReads(store), name, args);
    if (!isParts(value)) return value;
    isReadOn = true;
    return ReadableStream.from(closingAfter(value, () => store.close()));
  } finally {
    if (!isReadOn) await store.close();
  }
});

const answered = (reads: RecordReads, name: keyof RecordReads, args: unknown[]): Promise<unknown> =>
  (reads[name] as (...of: unknown[]) => Promise<unknown>)(...args);

const isParts = (value: unknown): value is AsyncIterable<unknown> =>
  typeof value === "object" && value !== null && Symbol.asyncIterator in value;

async function* closingAfter(parts: AsyncIterable<unknown>, close: () => Promise<void>): AsyncGenerator<unknown> {
  try {
    yield* parts;
  } finally {
    await close();
  }
}
