import { sayAmps } from "../../../shared/words/amounts.ts";
import { levelNow, slopePerMin } from "../machine/creep-track.ts";
import { stepAmpsOf } from "../machine/feed-track.ts";
import { watchedIn } from "../machine/watched.ts";
import { firstFinding, isJudged, type TripCheck } from "./finding.ts";

const HALF_BINS = 30;
/** A slope that is this share of the one before is not falling. */
const NOT_FALLING = 0.9;

/**
 * A current that climbs by itself: at any time above `creepRatio` of its level since the last step, or, after
 * `creepAfterMs` of watch, a slope above `creepSharePerMin` that does not fall. A healthy board climbs 2–8 % and flattens
 * (common practice, no source).
 */
export const creeping: TripCheck = (view) => {
  const watched = watchedIn(view.state);
  if (watched === null) return null;
  return firstFinding(view, (live, feed) => {
    const track = watched.creep[live.feed];
    if (!isJudged(live) || track === undefined) return null;
    const { creepRatio, creepSharePerMin, creepAfterMs } = view.plan.trips;
    const now = levelNow(track);
    const floor = 3 * stepAmpsOf(feed);
    if (now !== null && track.levelAmps !== null && track.levelAmps > floor && now > creepRatio * track.levelAmps) {
      return {
        rule: "creeping",
        feed: live.feed,
        board: true,
        because: `${live.feed} rose from ${sayAmps(track.levelAmps)} to ${sayAmps(now)} without a step, more than ${creepRatio} times as much`,
      };
    }
    if (view.nowMs - watched.sinceMs < creepAfterMs || track.sinceStep < 2 * HALF_BINS) return null;
    const before = slopePerMin(track.means.slice(-2 * HALF_BINS, -HALF_BINS));
    const newest = track.means.slice(-HALF_BINS);
    const slope = slopePerMin(newest);
    const climbed = (newest.at(-1) ?? 0) - (newest[0] ?? 0);
    if (slope <= creepSharePerMin || slope < NOT_FALLING * before || climbed <= floor) return null;
    return {
      rule: "creeping",
      feed: live.feed,
      board: true,
      because: `${live.feed} still rises by ${(100 * slope).toFixed(1)} % a minute, after ${(100 * before).toFixed(1)} % in the half minute before: it does not settle`,
    };
  });
};
