import type { Plan, PlanFeed, TripRule } from "../../../shared/plan.ts";
import type { Energised, LiveFeed } from "../machine/machine-state.ts";
import { plannedFeed } from "../machine/plan-feeds.ts";

/** What a trip rule found. `board` tells a fault of the board from one of the bench. */
export interface Finding {
  rule: TripRule;
  feed: string | null;
  board: boolean;
  because: string;
  /** True where a limit that was too low explains what was seen as well as a fault does. */
  higherLimit?: boolean;
}

/** What a trip rule looks at: the readings up to now and nothing else. */
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

/** Rules about how a feed comes up do not look at one that is going off, nor at any while all go off. */
export const isJudged = (view: TripView, live: LiveFeed): boolean =>
  !live.leaving && view.state.ledger.stage !== "off" && live.track.last !== null;
