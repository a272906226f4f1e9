import type { PlanFeed } from "../../../shared/plan.ts";
import { sayAmps, sayVolts } from "../../../shared/words/amounts.ts";
import { closeIntervalMs } from "../compile/close-interval.ts";
import { firstFinding, isJudged, nominalStage, type TripCheck } from "./finding.ts";

const FALLS = 2;
/**
 * So many times back in the limit within a second, after nominal was reached: a fan and a few converters that begin one
 * after the other come to three (arithmetic on common practice).
 */
const RETURNS = 6;
/** Read so seldom, milliseconds, short dips of a healthy start are hardly met, and a loop not often either: fewer are enough. */
const SELDOM_MS = 20;
const RARE_MS = 60;
const SECOND_MS = 1000;

/**
 * Having reached 90 % of nominal once, a second fall under 80 %, or the limit met again and again: a start that loops.
 * The second is for dips too short for a meter to see their depth. Never called retrying.
 */
export const startLoop: TripCheck = (view) =>
  firstFinding(view, (live, feed) => {
    const { falls, last, reachedMs, limiting, sagsMs } = live.track;
    if (!isJudged(live) || nominalStage(view) === null || last === null || reachedMs === null) return null;
    const sinceMs = view.nowMs - SECOND_MS;
    const met = limiting.filter((each) => !each.continues && each.fromMs >= reachedMs && each.toMs > sinceMs);
    const returns = met.length + sagsMs.filter((each) => each > sinceMs).length;
    if (falls < FALLS && returns < returnsNeeded(feed)) return null;
    const seen =
      falls >= FALLS
        ? `reached nominal and fell below 80 % of it ${falls} times`
        : `reached nominal and was back at its limit ${returns} times within a second`;
    return {
      rule: "start-loop",
      feed: live.feed,
      board: true,
      higherLimit: true,
      because: `${live.feed} ${seen}, now ${sayVolts(last.volts)} and ${sayAmps(last.amps)} with a limit of ${sayAmps(live.setting.limitAmps)}; the start cannot complete: the limit is too low or the board is overloaded`,
    };
  });

function returnsNeeded(feed: PlanFeed): number {
  const closeMs = closeIntervalMs(feed);
  return closeMs <= SELDOM_MS ? RETURNS : closeMs <= RARE_MS ? 4 : 3;
}
