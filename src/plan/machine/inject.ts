import type { InjectPlan, Plan, PlanFeed } from "../../../shared/plan.ts";
import { withInjectedSample } from "./inject-track.ts";
import type { Energised, LiveFeed } from "./machine-state.ts";
import { plannedFeed } from "./plan-feeds.ts";
import { type StepResult, stay } from "./step-result.ts";
import { leave } from "./switch-off.ts";
import { leastAmpsSeen } from "./touch-judgement.ts";

/** A supply's own rise and the charge of a rail's capacitors are over by then, milliseconds. */
const SETTLE_MS = 300;
/** The level under way with the newest sample of its feed; the ledger has what it came to so far. */
export function injectionWith(plan: Plan, state: Energised, feed: string): Energised {
  const { step, ledger } = state;
  const live = state.energised.find((each) => each.feed === feed);
  const planned = plannedFeed(plan, feed);
  const sample = live?.track.last;
  if (step.step !== "inject" || step.feed !== feed || plan.inject === undefined) return state;
  if (live === undefined || planned === undefined || sample == null) return state;
  const settledMs = step.sinceMs + SETTLE_MS + planned.readIntervalMs;
  const { voltsUpShare, ampsDownShare } = plan.inject;
  const by = { sinceMs: live.askedMs, settledMs, voltsUpShare, ampsDownShare };
  const track = withInjectedSample(planned, step.track, sample, by);
  const levels = [...ledger.levels.slice(0, -1), track.level];
  return { ...state, ledger: { ...ledger, levels }, step: { ...step, track } };
}

/** A level lasts its time, or as long as it takes to see that no current flows; then off, and the word on the next. */
export function advanceInject(plan: Plan, state: Energised, feed: PlanFeed, live: LiveFeed, nowMs: number): StepResult {
  const { step } = state;
  if (step.step !== "inject" || plan.inject === undefined) return stay(state);
  const { base } = step.track;
  const isIdle = base !== null && base.amps <= leastAmpsSeen(feed, live.track);
  const lastsMs = isTop(plan.inject, live.setting.limitAmps) ? plan.inject.topMs : plan.inject.levelMs;
  if (!isIdle && nowMs - step.sinceMs < lastsMs) return stay(state);
  return leave(state, live.feed, step.target, nowMs);
}

const isTop = ({ levelsAmps }: InjectPlan, limitAmps: number): boolean => limitAmps >= Math.max(...levelsAmps) * 0.999;
