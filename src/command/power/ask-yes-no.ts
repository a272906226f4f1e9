import { createInterface } from "node:readline/promises";
import { questionForPeople } from "../text/people.ts";

/** Only y or yes is a yes. */
export const isYes = (answer: string): boolean => /^y(es)?$/i.test(answer.trim());

/**
 * Asks on the terminal; only y or yes is a yes. Ctrl-C is a no and goes on as the signal it is, the end of the input is a
 * no, and so is `withdrawn`: what was asked about is over.
 */
export async function askYesNo(question: string, withdrawn: AbortSignal): Promise<boolean> {
  const over = new AbortController();
  const terminal = createInterface({ input: process.stdin, output: process.stderr });
  terminal.on("SIGINT", () => {
    process.emit("SIGINT");
    over.abort();
  });
  terminal.on("close", () => over.abort());
  try {
    const answer = await terminal.question(questionForPeople(question), {
      signal: AbortSignal.any([withdrawn, over.signal]),
    });
    return isYes(answer);
  } catch {
    process.stderr.write("\n");
    return false;
  } finally {
    terminal.close();
  }
}
