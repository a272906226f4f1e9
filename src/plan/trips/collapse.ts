import { sayAmps, sayMs, sayVolts } from "../../../shared/words/amounts.ts";
import { firstFinding, isJudged, nominalStage, type TripCheck } from "./finding.ts";

/**
 * Under 80 % of nominal, after having reached 90 %, for longer than the limiting allowed: the volts are gone without the
 * limit to explain it. A board that draws half its limit or more is the likely reason; else the bench is.
 */
export const collapse: TripCheck = (view) =>
  firstFinding(view, (live, feed) => {
    const { downSinceMs, last } = live.track;
    if (!isJudged(live) || nominalStage(view) === null || downSinceMs === null || last === null) return null;
    const downMs = view.nowMs - downSinceMs;
    if (downMs <= feed.allowedLimitingMs) return null;
    return {
      rule: "collapse",
      feed: live.feed,
      board: last.amps >= 0.5 * live.setting.limitAmps,
      because: `${live.feed} has been below 80 % of its ${sayVolts(live.setting.volts)} for ${sayMs(downMs)}; it is now ${sayVolts(last.volts)} at ${sayAmps(last.amps)}`,
    };
  });
