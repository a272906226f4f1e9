import type { RunOutcome } from "../../../shared/plan.ts";
import type { PlanState } from "./machine-state.ts";

/**
 * The outcome of a run so far or at its end, from its state alone. `output` is "on" only while outputs are held on by intent after the
 * watch; "unknown" while something is energised or a cut is not proved; a run that has not ended counts as failed.
 */
export function outcomeOf(state: PlanState): RunOutcome {
  const { ledger } = state;
  const base = {
    limitToTry: ledger.limitToTry,
    raises: ledger.raises,
    reachedStage: ledger.reached,
    ...(ledger.steps.length === 0 ? {} : { steps: [...ledger.steps] }),
    ...(ledger.levels.length === 0 ? {} : { levels: [...ledger.levels] }),
    ...(ledger.note === null ? {} : { note: ledger.note }),
  };
  switch (state.kind) {
    case "ended":
      return { ...base, ended: state.ended, trip: state.trip, output: state.output };
    case "cutting":
      return { ...base, ended: state.ended, trip: state.trip, output: state.output ?? "unknown" };
    case "energised":
      return state.step.step === "holding"
        ? { ...base, ended: "as-planned", trip: null, output: "on" }
        : { ...base, ended: "failed", trip: null, output: "unknown" };
    case "safe":
      return {
        ...base,
        ended: "failed",
        trip: state.step.step === "ask-raise" ? state.step.trip : null,
        output: "off",
      };
    case "asking-why":
      return { ...base, ended: "failed", trip: null, output: state.output ?? "unknown" };
    case "preparing":
      return { ...base, ended: "failed", trip: null, output: "off" };
  }
}
