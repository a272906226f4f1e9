import type { WireAnswer } from "../../../shared/wire.ts";
import type { CutWord } from "../process/bench-process.ts";

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
