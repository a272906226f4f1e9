import type { Plan, Trip } from "../../shared/plan.ts";
import type { Progress } from "./machine-state.ts";

/**
 * The limit to try next and for which feed, or null where raising it is not legitimate: only a start that did not
 * complete, at nominal, after everything before was clean, and only to a limit the board file allows, at most twice the
 * present one.
 */
export function nextRaise(plan: Plan, progress: Progress, trip: Trip): { feed: string; amps: number } | null {
  if (trip.rule !== "start-loop" || (trip.stage !== "rise" && trip.stage !== "watch")) return null;
  const feed = plan.feeds.find((each) => each.feed === trip.feed);
  if (feed === undefined) return null;
  const present = progress.riseAmps[feed.feed] ?? feed.nominal.limitAmps;
  const amps = feed.ladderAmps.find((each) => each > present && each <= Math.min(feed.limitAmps, 2 * present));
  return amps === undefined ? null : { feed: feed.feed, amps };
}
