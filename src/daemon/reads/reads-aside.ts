import type { JobStore } from "../../job/store/job-store.ts";
import { AskedThread } from "../../system/asked-thread.ts";
import { inProgram } from "../../system/in-program.ts";
import { LastingThread } from "../../system/lasting-thread.ts";
import { type RecordReads, recordReads } from "./record-reads.ts";

type Name = keyof RecordReads;

export interface ReadRequest {
  name: Name;
  args: unknown[];
}

const WORKER = inProgram("daemon/reads/reads-worker.js");

/** The reads of a record, and the end of their threads. */
export interface ReadsAside {
  reads: RecordReads;
  end(): void;
}

/** Long reads wait for their own kind only: a sheet comes while a day of readings is written as CSV. */
const LONG: ReadonlySet<Name> = new Set<Name>(["run", "csv", "archive", "report", "finding"]);

/**
 * The reads of a record, worked out on threads beside this one: while outputs are on, this thread beats to the bench process, and a
 * beat that is late cuts. They keep the priority of this one: a thread that others keep off the processor while it holds a lock of the
 * process keeps this one waiting too. Where no thread can be had they are worked out here. `worker`: the file that a thread runs.
 */
export function readsAside(store: JobStore, worker = WORKER): ReadsAside {
  const here = recordReads(store);
  if (!AskedThread.canRun(worker)) return { reads: here, end: () => {} };
  const [quick, long] = [new LastingThread(worker, { dir: store.dir }), new LastingThread(worker, { dir: store.dir })];
  const aside =
    (name: Name) =>
    (...args: unknown[]): Promise<unknown> =>
      (LONG.has(name) ? long : quick).ask({ name, args } satisfies ReadRequest);
  const names = Object.keys(here) as Name[];
  return {
    reads: Object.fromEntries(names.map((name) => [name, aside(name)])) as unknown as RecordReads,
    end: () => {
      quick.end();
      long.end();
    },
  };
}
