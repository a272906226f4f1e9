import { fileURLToPath } from "node:url";
import { Worker } from "node:worker_threads";
import type { DrawInput } from "../../shared/draw-input.ts";
import type { DrawVerdict } from "../../shared/draw-verdict.ts";
import { verdictOnDraw } from "../verdict/draw-verdict.ts";

const judge = fileURLToPath(new URL("./judge-worker.js", import.meta.url));

/**
 * The verdict on a draw, worked out beside this thread: while outputs are on, this thread beats to the bench process, and
 * a beat that is late cuts. Where no thread can be had it is worked out here all the same.
 */
export async function judgeAside(input: DrawInput): Promise<DrawVerdict> {
  return (await fromWorker(input)) ?? verdictOnDraw(input);
}

function fromWorker(input: DrawInput): Promise<DrawVerdict | null> {
  return new Promise((resolve) => {
    try {
      const worker = new Worker(judge, { workerData: input, execArgv: [] });
      worker.once("message", (verdict: DrawVerdict) => resolve(verdict));
      worker.once("error", () => resolve(null));
      worker.once("exit", () => resolve(null));
    } catch {
      resolve(null);
    }
  });
}
