import type { WireAnswer } from "../../../shared/wire.ts";
import type { CutWord } from "../process/bench-process.ts";
import type { PageShow } from "./show-page.ts";

/** To a start that an off overtook. */
export const CUT_BEFORE: WireAnswer = {
  result: "refused",
  code: "cut",
  because: "Off was requested before it began. Nothing was energised.",
};

/** To an answer whose question is no longer asked. */
export const NO_QUESTION: WireAnswer = {
  result: "refused",
  code: "no-question",
  because: "That question was already answered, or is no longer open. Nothing was done.",
};

/** To a cut: done by the bench process's own word, else refused with the one thing that is sure. */
export const answerToCut = (word: CutWord): WireAnswer =>
  word.taken
    ? { result: "done" }
    : {
        result: "refused",
        code: "cut-not-taken",
        because: `${word.because} Switch the supply off by its own switch, now.`,
      };

/**
 * Hands a person's answer on once. The question leaves the pages before the bench process is told: the next one may come
 * before the answer to this is done. Asked again, and thrown, where the bench process refused it.
 */
export async function answerOnce(
  show: PageShow,
  bench: { answer: (question: number, yes: boolean) => Promise<void> },
  { question, yes }: { question: number; yes: boolean },
): Promise<WireAnswer> {
  const asked = show.answered(question);
  if (asked === null) return NO_QUESTION;
  try {
    await bench.answer(question, yes);
    return { result: "done" };
  } catch (cause) {
    show.askAgain(asked);
    throw cause;
  }
}
