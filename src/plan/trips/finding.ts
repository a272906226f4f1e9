import type { Plan, PlanFeed, TripRule } from "../../../shared/plan.ts";
import type { Energised, LiveFeed } from "../machine/machine-state.ts";
import { plannedFeed } from "../machine/plan-feeds.ts";

/** The finding of a trip rule. `board` tells a fault of the board from one of the bench. */
export interface Finding {
  rule: TripRule;
  feed: string | null;
  board: boolean;
  because: string;
  /** True where a limit that was too low explains what was seen as well as a fault does. */
  higherLimit?: boolean;
}

/** The view of a trip rule: the readings up to now and nothing else. */
export interface TripView {
  plan: Plan;
  state: Energised;
  nowMs: number;
}

/** A rule: what it found, or null. Pure; never throws. */
export type TripCheck = (view: TripView) => Finding | null;

/** Asks `check` of each feed that a supply has switched on, first finding first. */
export function firstFinding(
  view: TripView,
  check: (live: LiveFeed, feed: PlanFeed) => Finding | null,
): Finding | null {
  for (const live of view.state.energised) {
    const feed = live.manual ? undefined : plannedFeed(view.plan, live.feed);
    const found = feed === undefined ? null : check(live, feed);
    if (found !== null) return found;
  }
  return null;
}

/** Rules about what a feed draws look at every feed that is on but the one that is being switched off. */
export const isJudged = (live: LiveFeed): boolean => !live.leaving && live.track.last !== null;

/**
 * The stage that a feed at nominal is judged by: on the way out those still on are watched as before. Null below nominal.
 */
export function nominalStage({ state }: TripView): "rise" | "watch" | "margin" | null {
  const { stage, rules } = state.ledger;
  if (stage === "off") return rules === 1 || state.ledger.nominalSinceMs === null ? null : "watch";
  return stage === "rise" || stage === "watch" || stage === "margin" ? stage : null;
}
