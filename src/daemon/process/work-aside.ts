import { Worker } from "node:worker_threads";

/** The result of a worker file of this folder for its input, or null where no thread can be had or it ends in an error. */
export function workAside<I, O>(file: string, input: I): Promise<O | null> {
  return new Promise((resolve) => {
    try {
      const worker = new Worker(file, { workerData: input, execArgv: [] });
      worker.once("message", (output: O) => resolve(output));
      worker.once("error", () => resolve(null));
      worker.once("exit", () => resolve(null));
    } catch {
      resolve(null);
    }
  });
}
