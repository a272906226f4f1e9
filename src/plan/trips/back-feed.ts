import { sayVolts } from "../../../shared/words/amounts.ts";
import type { TripCheck } from "./finding.ts";

/** Left-over charge of an own look may still fall; a rise of this much above the least seen is a source. */
const RISE_VOLTS = 0.1;

/**
 * Volts on a feed that is not on while others are: back-feed through the board. A feed that was on before may still hold
 * charge, so there the volts must also have risen.
 */
export const backFeed: TripCheck = ({ plan, state }) => {
  if (state.ledger.stage === "off" || state.step.step === "switch-off") return null;
  const on = state.energised.map((each) => each.feed);
  for (const feed of state.ledger.feeds) {
    const off = state.ledger.offVolts[feed];
    if (on.includes(feed) || off === undefined) continue;
    const volts = Math.abs(off.volts);
    if (volts <= plan.backFeedVolts || volts <= off.leastVolts + RISE_VOLTS) continue;
    return {
      rule: "back-feed",
      feed,
      board: true,
      because: `${feed} is off but shows ${sayVolts(off.volts)} while ${on.join(", ")} ${on.length === 1 ? "is" : "are"} on; it should stay below ${sayVolts(plan.backFeedVolts)}: back-feed through the board`,
    };
  }
  return null;
};
