import { askLine } from "./ask-line.ts";

/** Only y or yes is a yes. */
export const isYes = (answer: string): boolean => /^y(es)?$/i.test(answer.trim());

/** Asks on the terminal as `askLine` does; only y or yes is a yes. */
export const askYesNo = async (question: string, withdrawn: AbortSignal): Promise<boolean> =>
  isYes((await askLine(question, withdrawn)) ?? "");
