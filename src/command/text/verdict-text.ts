import { classInWords, kindInWords } from "../../../shared/words/class-words.ts";
import type { RunVerdict } from "../../../shared/words/nothing-learned.ts";
import { figuresInWords } from "../../verdict/figures-in-words.ts";

/** The verdict of a run, for a terminal: the class, why, its rivals, the figures; or the one sentence that it told nothing. */
export function verdictText(title: string, verdict: RunVerdict): string {
  const sub = verdict.sub === undefined ? "" : `, ${kindInWords(verdict.sub)}`;
  const rivals = verdict.candidates.map(
    (each) => `${classInWords(each.class)} ${Math.round(each.probability * 100)} %`,
  );
  const figures = figuresInWords(verdict);
  const k = verdict.uncertainty === undefined ? "" : " (± expanded uncertainty, k = 2)";
  return [
    `${title}: ${verdict.class === null ? "no verdict" : classInWords(verdict.class)}${sub}`,
    ...verdict.because.map((sentence) => `  ${sentence}`),
    ...(verdict.class === null ? [] : [`  Candidates: ${rivals.length === 0 ? "none" : rivals.join(", ")}`]),
    `  ${figures.length === 0 ? "No values." : `Figures${k}: ${figures.join(", ")}`}`,
    "",
  ].join("\n");
}
