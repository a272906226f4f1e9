import { parentPort } from "node:worker_threads";
import { endingWith } from "./ending-with.ts";
import { type ThreadError, threadError } from "./thread-error.ts";

/** A question with its number, or null: no more are asked. */
export type Asked<What> = { id: number; what: What } | null;

export type AskedAnswer =
  | { id: number; is: "value"; value: unknown }
  | { id: number; is: "failed"; error: ThreadError };

/**
 * Answers all that an `AskedThread` asks of this thread, side by side. An answer in parts, an async iterable, is handed over as a
 * `ReadableStream`: it is read there, at the pace of whoever reads. The thread ends once no more are asked and nothing is being read.
 */
export function answerAsked<What>(answer: (what: What) => Promise<unknown>): void {
  let isOver = false;
  let underWay = 0;
  const isDone = (): void => {
    underWay -= 1;
    if (isOver && underWay === 0) setImmediate(() => parentPort?.close());
  };
  const handedOver = (parts: AsyncIterable<unknown>): ReadableStream => {
    underWay += 1;
    return ReadableStream.from(endingWith(parts, isDone));
  };
  const said = async (id: number, what: What): Promise<AskedAnswer> => {
    try {
      const value = await answer(what);
      return { id, is: "value", value: isParts(value) ? handedOver(value) : value };
    } catch (cause) {
      return { id, is: "failed", error: threadError(cause) };
    }
  };
  parentPort?.on("message", async (asked: Asked<What>) => {
    underWay += 1;
    if (asked === null) isOver = true;
    else {
      const answer = await said(asked.id, asked.what);
      const streams = answer.is === "value" && answer.value instanceof ReadableStream ? [answer.value] : [];
      // The types of Node 20 do not know yet that a stream can be handed over.
      parentPort?.postMessage(answer, streams as unknown as []);
    }
    isDone();
  });
}

/** True for an answer that comes in parts. */
export const isParts = (value: unknown): value is AsyncIterable<unknown> =>
  typeof value === "object" && value !== null && Symbol.asyncIterator in value;
