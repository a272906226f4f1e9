import type { Plan, PlanEvent } from "../../../shared/plan.ts";
import { ALL_TRIPS } from "../trips/all-trips.ts";
import { overloadReading } from "../trips/overload-reading.ts";
import { told } from "../trips/told.ts";
import { askWhy } from "./asking-why.ts";
import { advanceReadAnew } from "./come-on.ts";
import { cutOff } from "./cut-off.ts";
import { sampleOf, withSample } from "./feed-track.ts";
import { advanceHold } from "./hold-low.ts";
import { advanceInject, injectionWith } from "./inject.ts";
import type { Energised } from "./machine-state.ts";
import { advanceLevel, advanceSetVolts, levelWith } from "./margin.ts";
import { plannedFeed } from "./plan-feeds.ts";
import { advanceClimb, answeredManualOn } from "./rise.ts";
import { type StepResult, stay } from "./step-result.ts";
import { advanceSwitchOff, answeredManualOff, endInOrder } from "./switch-off.ts";
import { advanceSwitchOn } from "./switch-on.ts";
import { advanceLook, advanceRelimit } from "./touch.ts";
import { advanceHolding, advanceWatch, guardAnswered } from "./watch.ts";
import { watchedWith } from "./watched.ts";

/**
 * Current may flow. Events that cut by themselves come first, then what a reading adds, then every trip rule, then the
 * step under way. What nobody decided cuts.
 */
export function advanceEnergised(plan: Plan, before: Energised, event: PlanEvent, nowMs: number): StepResult {
  if (event.event === "end") return endInOrder(plan, before, event.by, nowMs);
  if (event.event === "went-off") return askWhy(before, event.feed, nowMs);
  const cause = told(event) ?? overloadReading(before, event);
  if (cause !== null) return cutOff(plan, before, cause, nowMs);
  const state = withReading(plan, before, event);
  if (state === null) return unexpected(plan, before, event, nowMs);
  for (const check of ALL_TRIPS) {
    const found = check({ plan, state, nowMs });
    if (found !== null) return cutOff(plan, state, found, nowMs);
  }
  return stepOn(plan, state, event, nowMs) ?? unexpected(plan, state, event, nowMs);
}

function stepOn(plan: Plan, state: Energised, event: PlanEvent, nowMs: number): StepResult | null {
  const { step } = state;
  if (step.step === "switch-on") return advanceSwitchOn(plan, state, event, nowMs);
  if (step.step === "switch-off") return advanceSwitchOff(plan, state, event, nowMs);
  const isTime = event.event === "reading" || event.event === "tick";
  if (step.step === "ask-manual-on" || step.step === "ask-manual-off") {
    if (isTime) return stay(state);
    if (event.event !== "answered") return null;
    return step.step === "ask-manual-off"
      ? answeredManualOff(plan, state, step.feed, event.yes, nowMs)
      : answeredManualOn(
          plan,
          state.ledger,
          state.energised,
          { feed: step.feed, index: step.index, yes: event.yes },
          nowMs,
        );
  }
  if (step.step === "watch")
    return isTime ? advanceWatch(plan, state, nowMs) : guardAnswered(plan, state, event, nowMs);
  if (step.step === "set-volts") return advanceSetVolts(plan, state, event, nowMs);
  if (step.step === "read-anew") return isTime ? advanceReadAnew(plan, state, nowMs) : null;
  if (step.step === "holding") return isTime ? advanceHolding(plan, state, nowMs) : null;
  const feed = plannedFeed(plan, step.feed);
  const live = state.energised.find((each) => each.feed === step.feed);
  if (feed === undefined || live === undefined) return null;
  if (step.step === "relimit") return advanceRelimit(plan, state, event, feed, live, nowMs);
  if (!isTime) return null;
  if (step.step === "look") return advanceLook(plan, state, feed, live, nowMs);
  if (step.step === "level") return advanceLevel(plan, state, feed, live, nowMs);
  if (step.step === "inject") return advanceInject(plan, state, feed, live, nowMs);
  return step.step === "hold"
    ? advanceHold(plan, state, feed, live, nowMs)
    : advanceClimb(plan, state, feed, live, nowMs);
}

/** The state with what a reading adds to an energised feed's track; null for a reading of a feed the plan does not have. */
function withReading(plan: Plan, state: Energised, event: PlanEvent): Energised | null {
  if (event.event !== "reading") return state;
  const planned = plannedFeed(plan, event.reading.feed);
  if (planned === undefined) return null;
  const live = state.energised.find((each) => each.feed === planned.feed);
  const sample = live === undefined || live.manual ? null : sampleOf(planned, live, event.reading);
  if (live === undefined || sample === null) return state;
  const track = withSample(planned, live, sample);
  const [first, ...rest] = state.energised.map((each) => (each === live ? { ...each, track } : each));
  if (first === undefined) return null;
  const read = { ...state, energised: [first, ...rest] } satisfies Energised;
  return levelWith(plan, injectionWith(plan, watchedWith(plan, read, planned.feed), planned.feed), planned.feed);
}

const unexpected = (plan: Plan, state: Energised, event: PlanEvent, nowMs: number): StepResult => {
  const of = "feed" in event && typeof event.feed === "string" ? event.feed : null;
  const what = event.event === "output" ? `output ${event.state}` : event.event;
  const because = `"${what}"${of === null ? "" : ` of ${of}`} happened while ${state.energised.map((each) => each.feed).join(", ")} ${state.energised.length === 1 ? "was" : "were"} on, although nobody had asked for it`;
  return cutOff(plan, state, { rule: "unexpected", feed: of, board: false, because }, nowMs);
};
