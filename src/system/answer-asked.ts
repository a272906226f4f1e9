import { parentPort } from "node:worker_threads";
import { type ThreadError, threadError } from "./thread-error.ts";

export type AskedAnswer =
  | { id: number; is: "value"; value: unknown }
  | { id: number; is: "failed"; error: ThreadError };

/**
 * Answers all that an `AskedThread` asks of this thread, side by side. A `ReadableStream` is handed over: it is read there, at the pace
 * of whoever reads.
 */
export function answerAsked<What>(answer: (what: What) => Promise<unknown>): void {
  parentPort?.on("message", async ({ id, what }: { id: number; what: What }) => {
    const said = await answer(what).then(
      (value): AskedAnswer => ({ id, is: "value", value }),
      (cause): AskedAnswer => ({ id, is: "failed", error: threadError(cause) }),
    );
    const streams = said.is === "value" && said.value instanceof ReadableStream ? [said.value] : [];
    // The types of Node 20 do not know yet that a stream can be handed over.
    parentPort?.postMessage(said, streams as unknown as []);
  });
}
