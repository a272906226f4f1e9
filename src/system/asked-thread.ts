import { existsSync } from "node:fs";
import { Worker } from "node:worker_threads";
import type { Asked, AskedAnswer } from "./answer-asked.ts";
import { errorOfThread } from "./thread-error.ts";

interface Waiting {
  resolve(value: unknown): void;
  reject(cause: unknown): void;
}

/**
 * A thread that is asked by messages and answers each; `file` calls `answerAsked`. It keeps the process alive only while an answer is
 * waited for. Once it has ended by itself it answers nothing more.
 */
export class AskedThread {
  readonly #worker: Worker;
  readonly #waiting = new Map<number, Waiting>();
  #count = 0;
  #gone: Error | null = null;

  constructor(file: string, workerData: unknown) {
    this.#worker = new Worker(file, { workerData, execArgv: [] });
    this.#worker.unref();
    this.#worker.on("message", (answer: AskedAnswer) => this.#take(answer));
    this.#worker.on("error", (cause) => this.#lose(cause));
    this.#worker.on("exit", () => this.#lose(new Error("the thread has ended")));
  }

  /** True where a thread can run `file` at all: it is a built file, which a tree of sources has not. */
  static canRun(file: string): boolean {
    return existsSync(file);
  }

  get isGone(): boolean {
    return this.#gone !== null;
  }

  /** Rejects with the error that the thread threw, or that ended it. */
  ask(what: unknown): Promise<unknown> {
    if (this.#gone !== null) return Promise.reject(this.#gone);
    return new Promise((resolve, reject) => {
      const id = ++this.#count;
      this.#waiting.set(id, { resolve, reject });
      this.#worker.ref();
      this.#say({ id, what });
    });
  }

  /** Asks nothing more: what is under way is answered, what comes in parts is read to its end, and then the thread ends. */
  end(): void {
    this.#say(null);
  }

  #say(asked: Asked<unknown>): void {
    this.#worker.postMessage(asked);
  }

  #take(answer: AskedAnswer): void {
    const waiting = this.#waiting.get(answer.id);
    this.#waiting.delete(answer.id);
    if (this.#waiting.size === 0) this.#worker.unref();
    if (answer.is === "value") waiting?.resolve(answer.value);
    else waiting?.reject(errorOfThread(answer.error));
  }

  #lose(cause: Error): void {
    this.#gone ??= cause;
    for (const waiting of this.#waiting.values()) waiting.reject(this.#gone);
    this.#waiting.clear();
  }
}
