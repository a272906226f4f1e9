import { sayJoules, sayMs } from "../../../shared/words/amounts.ts";
import { joulesTaken } from "../machine/on-time-up.ts";
import type { TripCheck } from "./finding.ts";

/** The watch ends itself at the longest on-time; switching off in order gets this much more. */
export const OFF_GRACE_MS = 3000;

/** Heat beyond the allowed by this share ends a run that did not end itself. */
const HEAT_GRACE = 1.25;

/** At nominal longer, or with more heat, than the cooling allows. */
export const onTime: TripCheck = ({ plan, state, nowMs }) => {
  const since = state.ledger.nominalSinceMs;
  if (since === null) return null;
  const planned = state.ledger.stage === "watch" || state.ledger.stage === "margin" || state.ledger.stage === "off";
  const joules = joulesTaken(state);
  if (plan.maxOnJoules !== undefined && joules > HEAT_GRACE * plan.maxOnJoules)
    return {
      rule: "on-time",
      feed: null,
      board: false,
      because: `the board took ${sayJoules(joules)} in ${sayMs(nowMs - since)} at nominal; with a bare chip at most ${sayJoules(plan.maxOnJoules)} is allowed`,
    };
  if (nowMs - since <= plan.maxOnMs + (planned ? OFF_GRACE_MS : 0)) return null;
  return {
    rule: "on-time",
    feed: null,
    board: false,
    because: `the board has been at nominal for ${sayMs(nowMs - since)}; with this cooling at most ${sayMs(plan.maxOnMs)} is allowed`,
  };
};
