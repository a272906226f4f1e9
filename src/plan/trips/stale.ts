import type { TripCheck } from "./trip-rule.ts";

/** No reading of an energised feed for longer than the plan allows: silence is a trip, never "no news". */
export const stale: TripCheck = ({ plan, live, nowMs }) => {
  const silentMs = nowMs - live.heardAtMs;
  if (silentMs <= plan.trips.staleMs) return undefined;
  return {
    rule: "stale",
    board: false,
    because: `no reading of ${live.feed} for ${silentMs.toFixed(0)} ms (${plan.trips.staleMs.toFixed(0)} ms allowed)`,
  };
};
