import type { BenchFile } from "../../../shared/files/bench-file.ts";
import type { Plan } from "../../../shared/plan.ts";
import { injectionPlan, railFeed } from "./compile-injection.ts";
import type { PlanProblem, SupplyCapabilities } from "./compile-plan.ts";

/** The settings with which the leads of one feed are measured: their ends joined, no board behind them. */
export interface LeadsWish {
  feed: string;
  /** A person says that the ends are joined at the card end, and that no board is on them. */
  joined: boolean;
}

/** At this cap no converter runs and no junction conducts, should a board be there after all (common practice, no source). */
const CAP_VOLTS = 0.5;
/** The more, the less a supply's own error weighs; fused leads carry it (common practice, no source). */
const MOST_AMPS = 3;
/** Three readings of a supply that reads four times a second, and its rise. */
const LEVEL_MS = 1500;
/** The power that a pair of bad leads takes of it, and no more. */
const MOST_JOULES = 5;

/** The measurement of a feed's leads as data: the cap, one limit, a second and a half. Or every field that keeps it from being made. */
export function compileLeads(request: {
  bench: BenchFile;
  capabilities: Readonly<Record<string, SupplyCapabilities>>;
  wish: LeadsWish;
}): { plan: Plan; capBecause: string } | { problems: PlanProblem[] } {
  const { bench, capabilities, wish } = request;
  const feed = railFeed(
    { bench, capabilities, feed: wish.feed },
    { capVolts: CAP_VOLTS, levelMs: LEVEL_MS, levelsAmps: [1, 2, MOST_AMPS], firstAmps: MOST_AMPS },
  );
  if ("path" in feed) return { problems: [feed] };
  const joined = { ...feed, leadOhms: null, nominal: { ...feed.nominal, limitAmps: feed.limitAmps } };
  return {
    capBecause: "below the voltage at which any part of a board conducts",
    plan: injectionPlan({
      name: "leads",
      feed: { ...joined, touch: joined.nominal },
      rail: "the joined ends",
      capVolts: CAP_VOLTS,
      levelsAmps: [joined.limitAmps],
      levelMs: LEVEL_MS,
      topMs: LEVEL_MS,
      boardJoules: MOST_JOULES,
    }),
  };
}
