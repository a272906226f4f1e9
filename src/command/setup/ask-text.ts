import { createInterface } from "node:readline/promises";
import { throwAwayTyped } from "../power/ask-yes-no.ts";
import { endQuestion, say, sayQuestion } from "../text/people.ts";

/** Longer than any address or path that a person types. */
const LONGEST = 1000;

/**
 * Asks for a line on the terminal; Enter alone takes `byEnter`. What was typed before the question was drawn, and up to
 * 500 ms after, does not count. Answers null at Ctrl-C and at the end of the input.
 */
export async function askText(question: string, byEnter: string): Promise<string | null> {
  const shown = byEnter === "" ? "Enter: none" : byEnter;
  const never = new AbortController().signal;
  let row = sayQuestion(question, shown);
  const typed = await throwAwayTyped(never);
  if (typed === "no") {
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
    const answer = (await terminal.question(row, { signal: over.signal })).trim().slice(0, LONGEST);
    return answer === "" ? byEnter : answer;
  } catch {
    endQuestion();
    return null;
  } finally {
    terminal.close();
  }
}
