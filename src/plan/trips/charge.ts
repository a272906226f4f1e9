import { sayCoulombs, sayMs } from "../../../shared/words/amounts.ts";
import { stageBudget } from "../compile/hold-budget.ts";
import { firstFinding, isJudged, type TripCheck } from "./finding.ts";

/** More charge before the stage was over than capacitors and limit explain; only what must have flowed is counted. */
export const charge: TripCheck = (view) =>
  firstFinding(view, (live, feed) => {
    const { step } = view.state.step;
    if (!isJudged(live) || (step !== "hold" && step !== "climb")) return null;
    const budget = stageBudget(feed, step === "hold" ? "hold-low" : "rise", live.setting.limitAmps);
    if (view.state.step.feed !== live.feed || live.track.leastCoulombs <= budget.coulombs) return null;
    return {
      rule: "charge",
      feed: live.feed,
      board: true,
      because: `${live.feed} took at least ${sayCoulombs(live.track.leastCoulombs)} in ${sayMs(view.nowMs - live.askedMs)}; its capacitors and its limit explain only ${sayCoulombs(budget.coulombs)}`,
    };
  });
