import { sayMs } from "../../../shared/words/amounts.ts";
import { firstFinding, type TripCheck } from "./finding.ts";

/** No reading of an energised feed for longer than the plan allows; silence is a trip, not "no news". */
export const stale: TripCheck = (view) =>
  firstFinding(view, (live) => {
    if (live.onMs === null) return null;
    const sinceMs = Math.max(live.onMs, live.track.last?.atMs ?? 0);
    const silentMs = view.nowMs - sinceMs;
    if (silentMs <= view.plan.trips.staleMs || live.leaving) return null;
    return {
      rule: "stale",
      feed: live.feed,
      board: false,
      because: `${live.feed} was last read ${sayMs(silentMs)} ago; at most ${sayMs(view.plan.trips.staleMs)} is allowed while it is on`,
    };
  });
