import { askLine } from "../power/ask-line.ts";

/** Longer than any address or path that a person types. */
const LONGEST = 1000;

/** Asks for a line as `askLine` does; Enter alone takes `byEnter`. Answers null at Ctrl-C and at the end of the input. */
export async function askText(question: string, byEnter: string): Promise<string | null> {
  const never = new AbortController().signal;
  const answer = await askLine(question, never, byEnter === "" ? "Enter: none" : byEnter);
  if (answer === null) return null;
  const taken = answer.trim().slice(0, LONGEST);
  return taken === "" ? byEnter : taken;
}
