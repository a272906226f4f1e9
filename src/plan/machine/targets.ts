import type { Plan, PlanFeed, StageSetting } from "../../../shared/plan.ts";
import type { Ledger, Target } from "./machine-state.ts";
import { plannedFeed } from "./plan-feeds.ts";

/** The target after a feed's touch or hold: the next feed's, the first hold, at last the rise of all. */
export function targetAfter(plan: Plan, ledger: Ledger, target: Target): Target {
  if (target.stage === "touch" && target.index + 1 < ledger.feeds.length)
    return { stage: "touch", index: target.index + 1 };
  if (target.stage === "rise" || target.stage === "inject") return target;
  const from = target.stage === "touch" ? 0 : target.index + 1;
  const index = ledger.feeds.findIndex((feed, place) => place >= from && plannedFeed(plan, feed)?.holdLow != null);
  return index < 0 ? { stage: "rise", index: 0 } : { stage: "hold-low", index };
}

/** The settings of a feed at nominal: the limit is the ladder's, never above the feed's own. */
export const nominalSetting = (ledger: Ledger, feed: PlanFeed): StageSetting => ({
  ...feed.nominal,
  limitAmps: Math.min(ledger.limits[feed.feed] ?? feed.nominal.limitAmps, feed.limitAmps),
});

/** The settings of a feed in a stage; null where the plan has no such stage for it. */
export function settingFor(plan: Plan, ledger: Ledger, feed: string, stage: Target["stage"]): StageSetting | null {
  const planned = plannedFeed(plan, feed);
  if (planned === undefined) return null;
  if (stage === "rise" || stage === "inject") return nominalSetting(ledger, planned);
  return stage === "touch" ? planned.touch : planned.holdLow;
}
