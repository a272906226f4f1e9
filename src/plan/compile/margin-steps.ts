import type { MarginPlan, PlanFeed } from "../../../shared/plan.ts";
import type { PlanProblem } from "../../analysis/cold-readings.ts";
import { stepVoltsOf } from "../machine/feed-track.ts";

export interface MarginWish {
  /** The feed to step; left out: the one whose limit is the highest. */
  feed?: string;
  /** The number of set-points in all, the nominal one included; 3 to 11, default 5. */
  steps?: number;
}

/** Longest a step waits for the draw to settle, milliseconds. */
const STEP_MS = 4000;
/** Taken for leads nobody measured, ohms: so low that a metre of thin wire with clips would be worse (common practice, no source). */
const UNKNOWN_LEAD_OHMS = 0.1;
/** Below the most volts by this share, so that the supply's own protection does not act on the step itself. */
const BELOW_MOST = 0.985;

/**
 * The set-points of a margin run: nominal, down to the low end of the tolerance, then up to the high end. At the low end
 * the drop of the leads at the first limit is added, so that the card itself never sees less than its tolerance; at the
 * high end the feed's most volts are kept below. Null where there is no room between the two.
 */
export function marginVolts(feed: PlanFeed, steps: number): number[] | null {
  const { nominalVolts, tolerance, maxVolts, nominal, sense } = feed;
  const drop = sense === "remote" ? 0 : nominal.limitAmps * (feed.leadOhms ?? UNKNOWN_LEAD_OHMS);
  const low = nominalVolts * (1 + tolerance[0]) + drop + stepVoltsOf(feed);
  const high = Math.min(nominalVolts * (1 + tolerance[1]) - stepVoltsOf(feed), BELOW_MOST * maxVolts);
  if (!(low < nominalVolts && high > nominalVolts)) return null;
  const below = Math.floor((steps - 1) / 2);
  const above = steps - 1 - below;
  const between = (end: number, count: number): number[] =>
    Array.from({ length: count }, (_, index) => nominalVolts + ((end - nominalVolts) * (index + 1)) / count);
  return [nominalVolts, ...between(low, below), ...between(high, above)].map(
    (volts) => Math.round(volts * 1000) / 1000,
  );
}

/** The margin part of a plan, or what keeps it from being made. */
export function compileMargin(wish: MarginWish, feeds: readonly PlanFeed[]): { margin: MarginPlan } | PlanProblem {
  const switched = feeds.filter((each) => each.supply !== null);
  const names = switched.map((each) => each.feed).join(", ");
  const named = feeds.find((each) => each.feed === wish.feed || each.ganged?.includes(wish.feed ?? "") === true);
  const feed =
    wish.feed === undefined ? [...switched].sort((a, b) => b.limitAmps - a.limitAmps || b.order - a.order)[0] : named;
  if (feed === undefined)
    return { path: "feed", message: `is ${wish.feed ?? "none"}; it should be a feed this bench switches: ${names}` };
  if (feed.supply === null)
    return { path: "feed", message: `is ${feed.feed}, which a person switches; the program cannot step its voltage` };
  const steps = wish.steps ?? 5;
  if (!(Number.isInteger(steps) && steps >= 3 && steps <= 11))
    return { path: "steps", message: `is ${steps}; it should be a whole number, 3 to 11` };
  const stepVolts = marginVolts(feed, steps);
  if (stepVolts === null)
    return {
      path: `feeds.${feed.feed}.tolerance`,
      message: `is [${feed.tolerance.join(", ")}] of ${feed.nominalVolts} V: with the drop in the leads and at most ${feed.maxVolts} V, no voltage is left to step`,
    };
  return { margin: { feed: feed.feed, stepVolts, stepMs: STEP_MS } };
}
