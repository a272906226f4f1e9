import type { DrawClass } from "../../../shared/draw-verdict.ts";
import type { RunOutcome } from "../../../shared/plan.ts";
import { nothingLearnedFor } from "../../../shared/words/nothing-learned.ts";
import { say } from "../../words/verdict.ts";
import { language } from "../../words/words.ts";

/** The class of a draw as a headline: "Overload: it draws all it is given". */
export const classHeadline = (name: DrawClass): string => say(`class.${name}`);

/** The class of a draw by its name alone: "Overload". */
export const className = (name: DrawClass): string => classHeadline(name).split(":")[0] ?? name;

/** The same within a sentence, where English writes it small. */
export const classInSentence = (name: DrawClass): string =>
  language() === "en" ? className(name).toLowerCase() : className(name);

/** The one sentence about a run that the bench or a person ended, with what to do; null where the run has a verdict. */
export function nothingSentence(outcome: Pick<RunOutcome, "trip" | "endedBy">): string | null {
  const what = nothingLearnedFor(outcome);
  return what === null ? null : say(`nothing.${what}`);
}
