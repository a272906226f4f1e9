import type { PlanEvent } from "../../../shared/plan.ts";
import type { Ledger, PlanState } from "./machine-state.ts";

/** The ledger with one question more; the new question's number is its `questions`. */
export const withQuestion = (ledger: Ledger): Ledger => ({ ...ledger, questions: ledger.questions + 1 });

/** The number of the question that waits for a person's answer; null where none does. */
export function openQuestion(state: PlanState): number | null {
  return isAsking(state) ? state.ledger.questions : null;
}

/**
 * The one place where the number of an answer is judged: an answer to any other question than the open one is ignored. It
 * came too late, or twice. Records from before answers had numbers are taken as they were then.
 */
export const isStrayAnswer = (state: PlanState, event: PlanEvent): boolean =>
  event.event === "answered" && event.question !== undefined && event.question !== openQuestion(state);

function isAsking(state: PlanState): boolean {
  if (state.kind === "cutting") return state.output !== null && state.manual.length > 0;
  if (state.kind !== "safe" && state.kind !== "energised") return false;
  const { step } = state.step;
  return step === "ask-raise" || step === "ask-level" || step === "ask-manual-on" || step === "ask-manual-off";
}
