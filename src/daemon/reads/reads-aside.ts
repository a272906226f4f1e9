import type { JobStore } from "../../job/store/job-store.ts";
import { AskedThread } from "../../system/asked-thread.ts";
import { inProgram } from "../../system/in-program.ts";
import { type RecordReads, recordReads } from "./record-reads.ts";

type Name = keyof RecordReads;

export interface ReadRequest {
  name: Name;
  args: unknown[];
}

const WORKER = inProgram("daemon/reads/reads-worker.js");

/** What takes long waits for its own kind only: a sheet comes while a day of readings is written as CSV. */
const LONG: ReadonlySet<Name> = new Set<Name>(["run", "csv", "archive", "report", "finding"]);

/**
 * The reads of a record, worked out on threads beside this one: while outputs are on, this thread beats to the bench process, and a
 * beat that is late cuts. Where no thread can be had they are worked out here. `worker`: the file that a thread runs.
 */
export function readsAside(store: JobStore, worker = WORKER): RecordReads {
  const here = recordReads(store);
  if (!AskedThread.canRun(worker)) return here;
  const [quick, long] = [new ReadThread(store.dir, worker), new ReadThread(store.dir, worker)];
  const aside =
    (name: Name) =>
    (...args: unknown[]): Promise<unknown> =>
      (LONG.has(name) ? long : quick).ask({ name, args });
  const names = Object.keys(here) as Name[];
  return Object.fromEntries(names.map((name) => [name, aside(name)])) as unknown as RecordReads;
}

/** A thread from the first question on; one that ended, say for want of memory, is followed by another. */
class ReadThread {
  readonly #dir: string;
  readonly #worker: string;
  #thread: AskedThread | null = null;

  constructor(dir: string, worker: string) {
    this.#dir = dir;
    this.#worker = worker;
  }

  ask(request: ReadRequest): Promise<unknown> {
    if (this.#thread === null || this.#thread.isGone) this.#thread = new AskedThread(this.#worker, { dir: this.#dir });
    return this.#thread.ask(request);
  }
}
