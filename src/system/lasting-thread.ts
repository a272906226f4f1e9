import { AskedThread } from "./asked-thread.ts";

/** A thread from the first question on; one that ended, say for want of memory, is followed by another. */
export class LastingThread {
  readonly #file: string;
  readonly #workerData: unknown;
  #thread: AskedThread | null = null;

  constructor(file: string, workerData: unknown) {
    this.#file = file;
    this.#workerData = workerData;
  }

  /** As `AskedThread.ask`. */
  ask(what: unknown): Promise<unknown> {
    if (this.#thread === null || this.#thread.isGone) this.#thread = new AskedThread(this.#file, this.#workerData);
    return this.#thread.ask(what);
  }

  /** Ends the thread that there is; a question after it begins another. */
  end(): void {
    this.#thread?.end();
    this.#thread = null;
  }
}
