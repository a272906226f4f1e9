import type { InjectLevel, InjectPlan, Plan, PlanFeed } from "../../../shared/plan.ts";
import { sayAmps, sayVolts, sayWatts } from "../../../shared/words/amounts.ts";
import { stepAmpsOf } from "./feed-track.ts";
import type { Ledger } from "./machine-state.ts";
import { plannedFeed } from "./plan-feeds.ts";
import { withQuestion } from "./questions.ts";
import { endAsPlanned, type StepResult } from "./step-result.ts";

/** Room below the power budget for what a short that warms up adds before it is seen as cleared: its volts' 20 %. */
const POWER_ROOM = 1.2;

/** Everything is off after a level: asks for the next one, or ends with the reason why there is none. */
export function afterInjection(plan: Plan, ledger: Ledger, feed: string, nowMs: number): StepResult {
  const planned = plannedFeed(plan, feed);
  const level = ledger.levels.at(-1);
  if (plan.inject === undefined || planned === undefined || level === undefined) return endAsPlanned(ledger);
  const next = nextLevel(plan.inject, planned, ledger.levels, level);
  if (typeof next === "string") return endAsPlanned({ ...ledger, note: next });
  const because = `${planned.feed} took ${sayAmps(level.amps)} at ${sayVolts(level.volts)}, at most ${sayWatts(level.watts)} on the board. The rail is off while this is asked`;
  const asking = withQuestion(ledger);
  return {
    state: { kind: "safe", ledger: asking, step: { step: "ask-level", feed, toAmps: next, sinceMs: nowMs } },
    effects: [
      { effect: "ask-raise", question: asking.questions, feed, fromAmps: level.limitAmps, toAmps: next, because },
    ],
  };
}

/** The next limit, or why there is none. Its power is worked out from the ohms seen now: I²·R, at most cap · I. */
function nextLevel(
  inject: InjectPlan,
  feed: PlanFeed,
  levels: readonly InjectLevel[],
  level: InjectLevel,
): number | string {
  const toAmps = inject.levelsAmps.find((amps) => amps > level.limitAmps * 1.001 && amps <= feed.limitAmps);
  if (level.amps <= 3 * stepAmpsOf(feed))
    return "no current flows into the rail at this voltage, so there is nothing to find";
  if (!level.limited)
    return `the cap of ${sayVolts(inject.capVolts)} holds the current at ${sayAmps(level.amps)}, so a higher limit would change nothing`;
  if (toAmps === undefined) return "the highest limit was held for its full time";
  const ohms = level.ohms ?? 0;
  const expected = Math.min(toAmps ** 2 * ohms, toAmps * inject.capVolts) * POWER_ROOM;
  if (expected > inject.boardWatts)
    return `${sayAmps(toAmps)} would put about ${sayWatts(expected / POWER_ROOM)} into the board; at most ${sayWatts(inject.boardWatts)} is allowed, with a reserve for a short that warms up`;
  const joules = levels.reduce((sum, each) => sum + each.joules, 0);
  if (joules > 0.9 * inject.boardJoules) return `${Math.round(joules)} J of ${inject.boardJoules} J were used`;
  return toAmps;
}
