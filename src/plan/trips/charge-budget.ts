import type { TripCheck } from "./trip-rule.ts";

/** Charge put in before the feed has risen beyond C·V of its capacitors and the limit for the time allowed. */
export const chargeBudget: TripCheck = ({ feed, live, stage }) => {
  if (live.risen || stage === "touch") return undefined;
  const budget = feed.inputFaradsMax * live.setVolts + (live.limitAmps * (feed.allowedLimitingMs + 1000)) / 1000;
  if (live.coulombs <= budget) return undefined;
  return {
    rule: "charge",
    board: true,
    because: `${live.feed} has taken ${live.coulombs.toFixed(3)} C before it came up, above the ${budget.toFixed(3)} C this stage allows`,
  };
};
