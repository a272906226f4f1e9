import type { PlanEvent } from "../../../shared/plan.ts";
import type { AskingWhy, Cutting } from "./machine-state.ts";
import { withQuestion } from "./questions.ts";
import { type StepResult, stay } from "./step-result.ts";

/** A cut that is not answered for this long is in doubt: it is asked for once more and the run ends with the output unknown. */
const MOST_MS = 15_000;

/** The cut is under way: waits for its proof, then asks for a raise, for hands, or ends. A stop calls a raise off. */
export function advanceCutting(state: Cutting, event: PlanEvent, nowMs: number): StepResult {
  switch (event.event) {
    case "cut-done":
      return afterCut({ ...state, output: event.output }, nowMs);
    case "stop":
    case "end":
      if (state.output !== null && state.manual.length > 0) return ended({ ...state, output: "unknown" });
      return state.raise === null ? stay(state) : stay({ ...state, raise: null });
    case "output":
      return event.state === "on" ? cutAgain({ ...state, raise: null }, event.feed) : stay(state);
    case "answered": {
      const [, ...rest] = state.manual;
      if (state.output === null || state.manual.length === 0) return stay(state);
      return event.yes ? afterCut({ ...state, manual: rest }, nowMs) : ended({ ...state, output: "unknown" });
    }
    case "front-panel":
      if (event.output === "on") return cutAgain({ ...state, raise: null }, event.feed);
      return stay({ ...state, raise: null });
    // Whatever else fails while the cut is under way, no limit is raised after it.
    case "link-lost":
    case "silent":
    case "lease-lost":
    case "guardian-lost":
    case "clock-gap":
    case "protection":
      return state.raise === null ? stay(state) : stay({ ...state, raise: null });
    case "tick":
      if (state.output !== null || nowMs - state.sinceMs <= MOST_MS) return stay(state);
      return {
        ...ended({ ...state, output: "unknown" }),
        effects: [{ effect: "cut", why: "the cut was not proved" }, { effect: "finish" }],
      };
    default:
      return stay(state);
  }
}

/** An output came on although everything was cut: it is cut once more, proved once more, and said at the end of the run. */
export function cutAgain(state: Cutting | AskingWhy, feed: string): StepResult {
  const note = `${feed} came on while everything was being switched off; it was cut again`;
  return {
    state: { ...state, ledger: { ...state.ledger, note }, output: null },
    effects: [{ effect: "cut", why: `${feed} reads back as on after the cut` }],
  };
}

/** The cut is proved, or in doubt: asks for a raise, for the hands of a person, or ends the run. */
export function afterCut(state: Cutting, nowMs: number): StepResult {
  const { output, raise, trip, manual } = state;
  if (output === "off" && raise !== null && trip !== null) {
    const { feed, fromAmps, toAmps } = raise;
    const ledger = withQuestion({ ...state.ledger, nominalSinceMs: null });
    return {
      state: { kind: "safe", ledger, step: { step: "ask-raise", feed, toAmps, trip, sinceMs: nowMs } },
      effects: [{ effect: "ask-raise", question: ledger.questions, feed, fromAmps, toAmps, because: trip.because }],
    };
  }
  const [feed] = manual;
  if (feed === undefined) return ended(state);
  const ledger = withQuestion(state.ledger);
  return {
    state: { ...state, ledger },
    effects: [{ effect: "ask-manual", question: ledger.questions, feed, wanted: "off" }],
  };
}

const ended = (state: Cutting): StepResult => ({
  state: {
    kind: "ended",
    ledger: state.ledger,
    trip: state.trip,
    ended: state.ended,
    output: state.output ?? "unknown",
  },
  effects: [{ effect: "finish" }],
});
