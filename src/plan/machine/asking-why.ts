import type { PlanEvent } from "../../../shared/plan.ts";
import type { Finding } from "../trips/finding.ts";
import { byHandAtSupply, protectionActed } from "../trips/told.ts";
import { afterCut, cutAgain } from "./cutting.ts";
import { feedsByHand } from "./feeds-by-hand.ts";
import type { AskingWhy, Cutting, Energised } from "./machine-state.ts";
import { endingOf, type StepResult, stay, tripOf } from "./step-result.ts";

/** The time a supply may take to say why its output went off, milliseconds; everything is cut meanwhile. */
const MOST_MS = 500;

/** An output went off by itself: everything is cut first, then its supply is asked whether a protection or a hand did it. */
export function askWhy(state: Energised, feed: string, nowMs: number): StepResult {
  const { ledger } = state;
  return {
    state: { kind: "asking-why", ledger, feed, sinceMs: nowMs, output: null, manual: feedsByHand(state) },
    effects: [
      { effect: "cut", why: `the output of ${feed} switched off on its own` },
      { effect: "ask-why", feed },
    ],
  };
}

/** Waits for the supply's word, at most half a second, then ends as any cut does. Nothing else that comes changes the end. */
export function advanceAskingWhy(state: AskingWhy, event: PlanEvent, nowMs: number): StepResult {
  const { feed } = state;
  switch (event.event) {
    case "why-off": {
      if (event.feed !== feed) return stay(state);
      const { protection, because } = event;
      return known(state, protection === null ? byHandAtSupply(feed, because) : protectionActed(feed, protection));
    }
    case "cut-done":
      return stay({ ...state, output: event.output });
    case "output":
      return event.state === "on" ? cutAgain(state, event.feed) : stay(state);
    case "front-panel":
      return event.output === "on" ? cutAgain(state, event.feed) : stay(state);
    case "tick":
      return nowMs - state.sinceMs <= MOST_MS
        ? stay(state)
        : known(state, byHandAtSupply(feed, "its output went off, and it did not say why"));
    default:
      return stay(state);
  }
}

/** The reason is known: the run ends by it, once the cut is proved. */
function known(state: AskingWhy, finding: Finding): StepResult {
  const { ledger, sinceMs, output, manual } = state;
  const trip = tripOf(ledger, finding, sinceMs);
  const cutting: Cutting = {
    kind: "cutting",
    ledger,
    trip,
    ended: endingOf(finding),
    sinceMs,
    raise: null,
    output,
    manual,
  };
  return output === null ? stay(cutting) : afterCut(cutting, ledger.atMs);
}
