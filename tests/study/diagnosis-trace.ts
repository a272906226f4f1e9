import { seededRandom } from "../../src/simulator/random.ts";
import { faultGroups } from "../../src/verdict/diagnosis/fault-groups.ts";
import type { DiagnosisModel } from "../../src/verdict/diagnosis/model.ts";
import type { Drawn } from "./diagnosis-figures.ts";
import { type Search, type Step, search } from "./search.ts";

/** One search by the chosen order, told step by step: what was measured, what came, and which two lines then stood first. */
export function traceOf(drawn: Drawn, model: DiagnosisModel): { search: Search; text: string } {
  const names = faultGroups(
    model.hypotheses,
    model.hypotheses.map(({ prior }) => prior),
  ).map(({ element, kind, also }) =>
    [`${element} ${kind}`, ...also.map((each) => `${each.element} ${each.kind}`)].join(" + "),
  );
  const lines: string[] = [];
  const tell = ({ measure, answer, minutes, isDoubted, lines: sums }: Step): void => {
    const first = sums
      .map((share, at) => ({ share, at }))
      .sort((a, b) => b.share - a.share)
      .slice(0, 3)
      .map(({ share, at }) => `${names[at]} ${(100 * share).toFixed(0)} %`);
    lines.push(
      `  ${minutes.toFixed(1).padStart(6)} min  ${measure}${isDoubted ? " (doubted)" : ""}: ${answer}  →  ${first.join(", ")}`,
    );
  };
  const found = search(drawn.truth(), model, "chosen", seededRandom(drawn.seed), tell);
  const end = `${found.reached ? "reached" : "not reached"} after ${found.minutes.toFixed(1)} minutes${found.misled ? ", misled" : ""}`;
  return { search: found, text: [`${drawn.faults}: ${end}`, ...lines].join("\n") };
}
