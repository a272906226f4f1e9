import { createInterface } from "node:readline/promises";
import { endQuestion, say, sayQuestion } from "../text/people.ts";

/** An answer that comes sooner after its question was drawn was not given to it (common practice, no source), ms. */
export const SOONEST_ANSWER_MS = 500;

const CTRL_C = 0x03;
const CTRL_D = 0x04;

/**
 * Asks for a line on the terminal. What was typed before the question was drawn, and up to 500 ms after, is thrown away, except
 * what says no by itself: Ctrl-C, which goes on as the signal it is, and the end of the input. Answers null at these, and once
 * `withdrawn` says that what was asked about is over. `shown` stands behind the question in place of y/N.
 */
export async function askLine(question: string, withdrawn: AbortSignal, shown?: string): Promise<string | null> {
  let row = sayQuestion(question, shown);
  const typed = await throwAwayTyped(withdrawn);
  if (typed === "no" || withdrawn.aborted) {
    endQuestion();
    return null;
  }
  if (typed === "something") {
    endQuestion();
    say("What was typed before the question was shown does not count.");
    row = sayQuestion("Answer it now:", shown);
  }
  const over = new AbortController();
  const terminal = createInterface({ input: process.stdin, output: process.stderr });
  terminal.on("SIGINT", () => {
    process.emit("SIGINT");
    over.abort();
  });
  terminal.on("close", () => over.abort());
  try {
    // The last row is drawn once more in its place.
    return await terminal.question(row, { signal: AbortSignal.any([withdrawn, over.signal]) });
  } catch {
    endQuestion();
    return null;
  } finally {
    terminal.close();
  }
}

/**
 * Reads and drops what is typed until the time is up; answers with what it was. Without line editing meanwhile: otherwise half a line would wait in the
 * terminal, and the Enter that ends it later would make an answer of it.
 */
async function throwAwayTyped(withdrawn: AbortSignal): Promise<"nothing" | "something" | "no"> {
  const input = process.stdin;
  let found: "nothing" | "something" | "no" = "nothing";
  const drop = (typed: Buffer | string): void => {
    const keys = Buffer.from(typed);
    if (keys.includes(CTRL_C)) process.emit("SIGINT");
    if (keys.includes(CTRL_C) || keys.includes(CTRL_D)) found = "no";
    else if (found === "nothing") found = "something";
  };
  input.setRawMode?.(true);
  input.on("data", drop);
  await new Promise<void>((resolve) => {
    const done = (): void => {
      clearTimeout(timer);
      withdrawn.removeEventListener("abort", done);
      // One more turn of reading: a process that stood still finds what was typed meanwhile only now.
      setImmediate(resolve);
    };
    const timer = setTimeout(done, SOONEST_ANSWER_MS);
    withdrawn.addEventListener("abort", done);
    if (withdrawn.aborted) done();
  });
  input.off("data", drop);
  input.pause();
  input.setRawMode?.(false);
  return found;
}
