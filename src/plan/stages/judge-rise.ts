import type { PlanFeed } from "../../../shared/plan.ts";
import type { LiveFeed } from "../machine-state.ts";

/** Up: two readings running at 95 % of the set-point or more, none limiting. */
export function hasRisen(feed: PlanFeed, live: LiveFeed): boolean {
  const onAtMs = live.onAtMs;
  if (onAtMs === null) return false;
  const two = live.look.filter((each) => each.queriedAtMs >= onAtMs).slice(-2);
  return two.length === 2 && two.every((each) => !each.limiting && each.volts >= 0.95 * Math.min(live.setVolts, feed.nominalVolts));
}
