import { sayMs } from "../../../shared/amounts.ts";
import type { TripCheck } from "./finding.ts";

/** The watch ends itself at the longest on-time; switching off in order gets this much more. */
export const OFF_GRACE_MS = 3000;

/** At nominal longer than the cooling allows. */
export const onTime: TripCheck = ({ plan, state, nowMs }) => {
  const since = state.ledger.nominalSinceMs;
  if (since === null) return null;
  const planned = state.ledger.stage === "watch" || state.ledger.stage === "margin" || state.ledger.stage === "off";
  if (nowMs - since <= plan.maxOnMs + (planned ? OFF_GRACE_MS : 0)) return null;
  return {
    rule: "on-time",
    feed: null,
    board: false,
    because: `the board has been at nominal for ${sayMs(nowMs - since)}; with this cooling at most ${sayMs(plan.maxOnMs)} are allowed`,
  };
};
