import type { DrawVerdict } from "../../../shared/draw-verdict.ts";
import { figuresInWords } from "../../verdict/figures-in-words.ts";

/** A verdict as a person reads it on a terminal: the class, why, its rivals, the figures that are known. */
export function verdictText(title: string, verdict: DrawVerdict): string {
  const sub = verdict.sub === undefined ? "" : ` (${verdict.sub})`;
  const rivals = verdict.candidates.map((each) => `${each.class} ${Math.round(each.probability * 100)} %`);
  const figures = figuresInWords(verdict);
  const k = verdict.uncertainty === undefined ? "" : " (± expanded uncertainty, k = 2)";
  return [
    `${title}: ${verdict.class}${sub}`,
    ...verdict.because.map((sentence) => `  ${sentence}`),
    `  Candidates: ${rivals.length === 0 ? "none" : rivals.join(", ")}`,
    `  ${figures.length === 0 ? "No figures." : `Figures${k}: ${figures.join(", ")}`}`,
    "",
  ].join("\n");
}
