import { sayJoules } from "../../../shared/words/amounts.ts";
import { stageBudget } from "../compile/hold-budget.ts";
import { firstFinding, isJudged, type TripCheck } from "./finding.ts";

/**
 * More energy before the stage was over than the plan allows: 0.1 J below 1 V, and what capacitors and limit explain
 * above. The look itself ends before its budget does; this is for a reading that jumps over it.
 */
export const energy: TripCheck = (view) =>
  firstFinding(view, (live, feed) => {
    const { step } = view.state;
    if (!isJudged(live)) return null;
    const inTouch = step.step === "relimit" || (step.step === "switch-on" && step.target.stage === "touch");
    if (!inTouch && step.step !== "hold" && step.step !== "climb") return null;
    if (step.feed !== live.feed) return null;
    const most = inTouch
      ? view.plan.trips.touchJoules
      : stageBudget(feed, step.step === "hold" ? "hold-low" : "rise", live.setting.limitAmps).joules;
    // Below 1 V all that may have flowed counts, since the budget keeps the board whole; above it what must have.
    const joules = inTouch ? live.track.joules : live.track.leastJoules;
    if (joules <= most) return null;
    return {
      rule: "energy",
      feed: live.feed,
      board: true,
      because: `${live.feed} took ${inTouch ? "" : "at least "}${sayJoules(joules)} in this stage; at most ${sayJoules(most)} is allowed`,
    };
  });
