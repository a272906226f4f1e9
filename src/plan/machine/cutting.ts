import type { PlanEvent } from "../../../shared/plan.ts";
import type { Cutting } from "./machine-state.ts";
import { type StepResult, stay } from "./step-result.ts";

/** A cut that is not answered for so long is in doubt: it is asked for once more and the run ends with the output unknown. */
const MOST_MS = 15_000;

/** The cut is under way: waits for its proof, then asks for a raise, for hands, or ends. A stop calls a raise off. */
export function advanceCutting(state: Cutting, event: PlanEvent, nowMs: number): StepResult {
  switch (event.event) {
    case "cut-done":
      return afterCut({ ...state, output: event.output }, nowMs);
    case "stop":
      if (state.output !== null && state.manual.length > 0) return ended({ ...state, output: "unknown" });
      return state.raise === null ? stay(state) : stay({ ...state, raise: null });
    case "output":
      return event.state === "on"
        ? {
            state: { ...state, raise: null },
            effects: [{ effect: "cut", why: `${event.feed} reads back as on after the cut` }],
          }
        : stay(state);
    case "answered": {
      const [, ...rest] = state.manual;
      if (state.output === null || state.manual.length === 0) return stay(state);
      return event.yes ? afterCut({ ...state, manual: rest }, nowMs) : ended({ ...state, output: "unknown" });
    }
    // Whatever else fails while the cut is under way, no limit is raised after it.
    case "link-lost":
    case "silent":
    case "lease-lost":
    case "guardian-lost":
    case "clock-gap":
    case "protection":
    case "front-panel":
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

function afterCut(state: Cutting, nowMs: number): StepResult {
  const { output, raise, trip, manual } = state;
  if (output === "off" && raise !== null && trip !== null) {
    const { feed, fromAmps, toAmps } = raise;
    return {
      state: {
        kind: "safe",
        ledger: { ...state.ledger, nominalSinceMs: null },
        step: { step: "ask-raise", feed, toAmps, trip, sinceMs: nowMs },
      },
      effects: [{ effect: "ask-raise", feed, fromAmps, toAmps, because: trip.because }],
    };
  }
  const [feed] = manual;
  if (feed !== undefined) return { state, effects: [{ effect: "ask-manual", feed, wanted: "off" }] };
  return ended(state);
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
