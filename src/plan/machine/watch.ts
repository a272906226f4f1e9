import type { Plan, PlanEvent } from "../../../shared/plan.ts";
import { sayMs } from "../../../shared/words/amounts.ts";
import type { Finding } from "../trips/finding.ts";
import { commandFailed } from "./command-failed.ts";
import { freshCreep, isSettled } from "./creep-track.ts";
import { cutOff } from "./cut-off.ts";
import { limitedWithin, stepAmpsOf } from "./feed-track.ts";
import type { CreepTracks, Energised, Ledger, LiveFeed } from "./machine-state.ts";
import { beginMargin } from "./margin.ts";
import { onTimeIsUp } from "./on-time-up.ts";
import { plannedFeed } from "./plan-feeds.ts";
import { echoDiffers } from "./setting-echo.ts";
import { inStage, type StepResult, stay } from "./step-result.ts";
import { beginOff } from "./switch-off.ts";

/** The start must be over before a protection that acts on the limit is armed. */
const GUARD_AFTER_MS = 1000;
const GUARD_ANSWER_MS = 3000;

/** All feeds are up: begins the watch, with the over-current protections still to be armed. */
export function enterWatch(plan: Plan, ledger: Ledger, live: readonly LiveFeed[], nowMs: number): StepResult {
  const [first, ...rest] = live;
  const inWatch = inStage(ledger, "watch");
  if (first === undefined)
    return {
      state: { kind: "ended", ledger: inWatch, trip: null, ended: "failed", output: "off" },
      effects: [{ effect: "finish" }],
    };
  const ours = live.filter((each) => !each.manual).map((each) => each.feed);
  const guarded = ours.filter((feed) => plannedFeed(plan, feed)?.hasOverCurrent === true);
  const creep = Object.fromEntries(ours.map((feed) => [feed, freshCreep(nowMs)]));
  return stay({
    kind: "energised",
    ledger: inWatch,
    energised: [first, ...rest],
    step: { step: "watch", sinceMs: nowMs, guard: { waiting: null, rest: guarded }, creep },
  });
}

/** Watches until the draw has settled and the time is up, then off in order, or on and held. */
export function advanceWatch(plan: Plan, state: Energised, nowMs: number): StepResult {
  const { step } = state;
  if (step.step !== "watch") return stay(state);
  const { waiting } = step.guard;
  if (waiting !== null) {
    if (nowMs - waiting.sinceMs <= GUARD_ANSWER_MS) return stay(state);
    return cutOff(plan, state, guardFailed(waiting.feed, `was not confirmed within ${sayMs(GUARD_ANSWER_MS)}`), nowMs);
  }
  if (isOver(plan, state, step.sinceMs, step.creep, nowMs)) {
    const margin = onTimeIsUp(plan, state, nowMs) ? null : beginMargin(plan, state, nowMs);
    if (margin !== null) return margin;
    if (!plan.keepOn || onTimeIsUp(plan, state, nowMs)) return beginOff(plan, state, nowMs);
    return stay({ ...state, step: { step: "holding", sinceMs: step.sinceMs, creep: step.creep } });
  }
  return armNext(state, nowMs);
}

function isOver(plan: Plan, state: Energised, sinceMs: number, creep: CreepTracks, nowMs: number): boolean {
  if (onTimeIsUp(plan, state, nowMs)) return true;
  const overMs = nowMs - sinceMs - plan.watch.seconds * 1000;
  if (overMs < 0) return false;
  const settled = Object.entries(creep).every(([feed, track]) => {
    const planned = plannedFeed(plan, feed);
    return planned === undefined || isSettled(track, stepAmpsOf(planned));
  });
  // A draw that never settles is given one more period of the slowest pattern, no more.
  return settled || overMs >= plan.watch.slowestPeriodMs;
}

function armNext(state: Energised, nowMs: number): StepResult {
  const { step } = state;
  if (step.step !== "watch" || nowMs - step.sinceMs < GUARD_AFTER_MS) return stay(state);
  const [feed, ...rest] = step.guard.rest;
  const live = state.energised.find((each) => each.feed === feed);
  if (feed === undefined || live === undefined || limitedWithin(live.track, nowMs)) return stay(state);
  return {
    state: { ...state, step: { ...step, guard: { waiting: { feed, sinceMs: nowMs }, rest } } },
    effects: [{ effect: "arm-over-current", feed, limitAmps: live.setting.limitAmps }],
  };
}

/** The answer to an armed protection. Null: this event was not decided here. */
export function guardAnswered(plan: Plan, state: Energised, event: PlanEvent, nowMs: number): StepResult | null {
  const { step } = state;
  if (step.step !== "watch" || event.event !== "configured" || step.guard.waiting?.feed !== event.feed) return null;
  const live = state.energised.find((each) => each.feed === event.feed);
  const planned = plannedFeed(plan, event.feed);
  if (live === undefined || planned === undefined) return null;
  const differs = echoDiffers(planned, live.setting, event);
  if (differs !== null) return cutOff(plan, state, guardFailed(event.feed, `read back differently: ${differs}`), nowMs);
  return stay({ ...state, step: { ...step, guard: { waiting: null, rest: step.guard.rest } } });
}

const guardFailed = (feed: string, what: string): Finding =>
  commandFailed(feed, `arming the over-current protection of ${feed} ${what}`);

/** On and watched until a person stops it or the longest on-time is up. */
export const advanceHolding = (plan: Plan, state: Energised, nowMs: number): StepResult =>
  onTimeIsUp(plan, state, nowMs) ? beginOff(plan, state, nowMs) : stay(state);
