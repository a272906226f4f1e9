import type { Plan, PlanEvent, PlanFeed, StageSetting } from "../../../shared/plan.ts";
import { sayMs, sayVolts } from "../../../shared/words/amounts.ts";
import { commandFailed } from "./command-failed.ts";
import { cutOff } from "./cut-off.ts";
import { freshLevel, levelIsSettled, marginStepOf, withLevelSample } from "./level-track.ts";
import type { Energised, LiveFeed } from "./machine-state.ts";
import { onTimeIsUp } from "./on-time-up.ts";
import { plannedFeed } from "./plan-feeds.ts";
import { echoDiffers } from "./setting-echo.ts";
import { inStage, type StepResult, stay } from "./step-result.ts";
import { beginOff } from "./switch-off.ts";

/** A setting of an energised feed that is not confirmed within this is cut: nobody knows what it does. */
const ANSWER_MS = 3000;

/** The watch is over and clean: the first step, with the over-current protection as the watch left it. Null: no margin run. */
export function beginMargin(plan: Plan, state: Energised, nowMs: number): StepResult | null {
  const { margin } = plan;
  const { step } = state;
  const planned = margin === undefined ? undefined : plannedFeed(plan, margin.feed);
  if (margin === undefined || planned === undefined || step.step !== "watch") return null;
  const overCurrentOn = planned.hasOverCurrent && !step.guard.rest.includes(margin.feed);
  return nextStep(plan, { ...state, ledger: inStage(state.ledger, "margin") }, 0, overCurrentOn, nowMs);
}

function nextStep(plan: Plan, state: Energised, index: number, overCurrentOn: boolean, nowMs: number): StepResult {
  const { feed = "", stepVolts = [] } = plan.margin ?? {};
  const volts = stepVolts[index];
  const live = state.energised.find((each) => each.feed === feed);
  if (volts !== undefined && onTimeIsUp(plan, state, nowMs)) {
    const note = `the longest on-time was reached after ${state.ledger.steps.length} of ${stepVolts.length} steps`;
    return beginOff(plan, { ...state, ledger: { ...state.ledger, note } }, nowMs);
  }
  if (volts === undefined || live === undefined) return beginOff(plan, state, nowMs);
  const setting: StageSetting = { ...live.setting, volts };
  return {
    state: { ...state, step: { step: "set-volts", feed, index, sinceMs: nowMs, setting, overCurrentOn } },
    effects: [{ effect: "configure", feed, setting, overCurrentOn }],
  };
}

/** Waits for the volts to be read back, with the output on. Null: this event was not decided here. */
export function advanceSetVolts(plan: Plan, state: Energised, event: PlanEvent, nowMs: number): StepResult | null {
  const { step } = state;
  if (step.step !== "set-volts") return null;
  const notSet = (what: string): StepResult => {
    const because = `${step.feed} was set to ${sayVolts(step.setting.volts)} while it was on, and ${what}`;
    return cutOff(plan, state, commandFailed(step.feed, because), nowMs);
  };
  if (event.event === "reading" || event.event === "tick")
    return nowMs - step.sinceMs <= ANSWER_MS ? stay(state) : notSet(`nothing was confirmed within ${sayMs(ANSWER_MS)}`);
  const planned = plannedFeed(plan, step.feed);
  if (event.event !== "configured" || event.feed !== step.feed || planned === undefined) return null;
  const differs = echoDiffers(planned, step.setting, event);
  if (differs !== null) return notSet(`it read back differently: ${differs}`);
  const [first, ...rest] = state.energised.map((each) =>
    each.feed === step.feed ? { ...each, setting: step.setting } : each,
  );
  if (first === undefined) return null;
  const { feed, index, overCurrentOn } = step;
  // The supply's own slew, and the reading under way, are not of the new volts.
  const fromMs = nowMs + planned.supplyRiseMs + planned.readIntervalMs;
  return stay({
    ...state,
    energised: [first, ...rest],
    step: { step: "level", feed, index, sinceMs: nowMs, overCurrentOn, track: freshLevel(fromMs) },
  });
}

/** The step under way with the newest sample of its feed. */
export function levelWith(plan: Plan, state: Energised, feed: string): Energised {
  const { step } = state;
  const sample = state.energised.find((each) => each.feed === feed)?.track.last;
  const planned = plannedFeed(plan, feed);
  if (step.step !== "level" || step.feed !== feed || sample == null || planned === undefined) return state;
  return { ...state, step: { ...step, track: withLevelSample(planned, step.track, sample) } };
}

/** Waits until the draw has settled at a step, or its time is up; then the next one, or the way out. */
export function advanceLevel(plan: Plan, state: Energised, feed: PlanFeed, live: LiveFeed, nowMs: number): StepResult {
  const { step } = state;
  if (step.step !== "level" || plan.margin === undefined) return stay(state);
  const isOver = nowMs - step.sinceMs >= plan.margin.stepMs || onTimeIsUp(plan, state, nowMs);
  if (!isOver && !levelIsSettled(feed, step.track)) return stay(state);
  const taken = marginStepOf(feed, step.track, live.setting.volts);
  const steps = taken === null ? state.ledger.steps : [...state.ledger.steps, taken];
  return nextStep(plan, { ...state, ledger: { ...state.ledger, steps } }, step.index + 1, step.overCurrentOn, nowMs);
}
