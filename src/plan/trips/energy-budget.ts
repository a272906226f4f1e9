import type { TripCheck } from "./trip-rule.ts";

/**
 * Energy put in before the feed has risen beyond what its capacitors take and the load may draw meanwhile: C·V² (half of
 * it is lost in the charging resistance, whatever that is), and the full limit for the time allowed. The touch has a
 * budget of its own, in joules.
 */
export const energyBudget: TripCheck = ({ plan, feed, live, stage }) => {
  if (live.risen) return undefined;
  const budget =
    stage === "touch"
      ? plan.trips.touchJoules
      : feed.inputFaradsMax * live.setVolts ** 2 + (live.setVolts * live.limitAmps * (feed.allowedLimitingMs + 1000)) / 1000;
  if (live.joules <= budget) return undefined;
  return {
    rule: "energy",
    board: true,
    because: `${live.feed} has taken ${live.joules.toFixed(3)} J before it came up, above the ${budget.toFixed(3)} J this stage allows`,
  };
};
