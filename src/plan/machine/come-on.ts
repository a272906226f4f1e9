import type { Plan, PlanFeed } from "../../../shared/plan.ts";
import type { Energised, Ledger, LiveFeed } from "./machine-state.ts";
import { energisedWereRead } from "./others-read.ts";
import { plannedFeed } from "./plan-feeds.ts";
import { type StepResult, stay } from "./step-result.ts";
import { switchOn } from "./switch-on.ts";
import { nominalSetting } from "./targets.ts";

/** The place of a feed in the rise: `index` counts all feeds of the plan. */
interface Place {
  feed: PlanFeed;
  index: number;
}

/**
 * Brings one more feed up to nominal, at once where nothing is on. Where something is, every feed that is on is read once
 * more first: one that went off by itself since its last reading must not be joined by the next.
 */
export function comeOn(ledger: Ledger, live: readonly LiveFeed[], place: Place, nowMs: number): StepResult {
  const [first, ...rest] = live;
  if (first === undefined || ledger.rules < 3) return nextOn(ledger, live, place, nowMs);
  const step = { step: "read-anew", feed: place.feed.feed, index: place.index, sinceMs: nowMs } as const;
  return stay({ kind: "energised", ledger, energised: [first, ...rest], step });
}

/** Waits for those readings. One that does not come is told by the trip for silence; what it shows, by every other trip. */
export function advanceReadAnew(plan: Plan, state: Energised, nowMs: number): StepResult {
  const { step, ledger, energised } = state;
  if (step.step !== "read-anew" || !energisedWereRead(state, step.sinceMs)) return stay(state);
  const feed = plannedFeed(plan, step.feed);
  return feed === undefined ? stay(state) : nextOn(ledger, energised, { feed, index: step.index }, nowMs);
}

const nextOn = (ledger: Ledger, live: readonly LiveFeed[], { feed, index }: Place, nowMs: number): StepResult =>
  switchOn(
    ledger,
    live,
    { feed: feed.feed, setting: nominalSetting(ledger, feed), target: { stage: "rise", index } },
    nowMs,
  );
