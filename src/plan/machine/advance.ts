import type { Plan, PlanEvent } from "../../../shared/plan.ts";
import { voltsOf } from "../../../shared/reading.ts";
import { told } from "../trips/told.ts";
import { advanceEnergised } from "./advance-energised.ts";
import { advanceSafe } from "./advance-safe.ts";
import { advanceAskingWhy } from "./asking-why.ts";
import { cutUnasked } from "./cut-off.ts";
import { advanceCutting } from "./cutting.ts";
import { enterClear } from "./enter-clear.ts";
import { type Ended, energisedFeeds, type Ledger, type PlanState, type Preparing } from "./machine-state.ts";
import { isStrayAnswer } from "./questions.ts";
import { type StepResult, stay } from "./step-result.ts";

export type { StepResult } from "./step-result.ts";

/**
 * The result of an event: the next state, and the effects for the bench, in order. No clock, no waiting, no throw: time
 * is `event.atMs`, milliseconds since the run began, and never goes back. A tick that decides nothing answers the very
 * state it was given, so that it need not be recorded and a replay without it comes to the same.
 */
export function advance(plan: Plan, state: PlanState, event: PlanEvent): StepResult {
  const nowMs = Math.max(state.ledger.atMs, Number.isFinite(event.atMs) ? event.atMs : state.ledger.atMs);
  if (event.event === "tick") return dispatch(plan, state, event, nowMs);
  // A person's report of an action on the board is for the record: it decides nothing.
  if (event.event === "mark" || isStrayAnswer(state, event)) return stay(state);
  return dispatch(plan, { ...state, ledger: noted(state, event, nowMs) }, event, nowMs);
}

function dispatch(plan: Plan, state: PlanState, event: PlanEvent, nowMs: number): StepResult {
  switch (state.kind) {
    case "preparing":
      return advancePreparing(plan, state, event, nowMs);
    case "safe":
      return advanceSafe(plan, state, event, nowMs);
    case "energised":
      return advanceEnergised(plan, state, event, nowMs);
    case "asking-why":
      return advanceAskingWhy(state, event, nowMs);
    case "cutting":
      return advanceCutting(state, event, nowMs);
    case "ended":
      return advanceEnded(state, event);
  }
}

/**
 * The supplies are being made ready. Whatever keeps the run from beginning cuts anyway: a protection that was just
 * cleared may have switched an output on.
 */
function advancePreparing(plan: Plan, state: Preparing, event: PlanEvent, nowMs: number): StepResult {
  if (event.event === "begin")
    return enterClear(
      { ...state.ledger, rules: event.rules ?? 1 },
      { stage: plan.inject === undefined ? "touch" : "inject", index: 0 },
      nowMs,
    );
  const finding = told(event);
  return finding === null ? stay(state) : cutUnasked(state.ledger, finding, nowMs);
}

/** Nothing is energised after the end; an output that shows up as on is cut, and a late proof of the cut is taken. */
function advanceEnded(state: Ended, event: PlanEvent): StepResult {
  if (event.event === "output" && event.state === "on") {
    return {
      state: { ...state, output: "unknown" },
      effects: [{ effect: "cut", why: `${event.feed} reads back as on after the run ended` }],
    };
  }
  return event.event === "cut-done" ? stay({ ...state, output: event.output }) : stay(state);
}

/** The ledger with the event's time, and with the volts of a feed whose output is off. */
function noted(state: PlanState, event: PlanEvent, nowMs: number): Ledger {
  const ledger = { ...state.ledger, atMs: nowMs };
  if (event.event !== "reading") return ledger;
  const { feed, queriedAtMs } = event.reading;
  const volts = voltsOf(event.reading);
  if (
    volts === undefined ||
    !Number.isFinite(volts) ||
    energisedFeeds(state).includes(feed) ||
    !ledger.feeds.includes(feed)
  )
    return ledger;
  const before = ledger.offVolts[feed];
  if (before !== undefined && queriedAtMs < before.atMs) return ledger;
  const leastVolts = Math.min(before?.leastVolts ?? Number.POSITIVE_INFINITY, Math.abs(volts));
  return { ...ledger, offVolts: { ...ledger.offVolts, [feed]: { volts, leastVolts, atMs: queriedAtMs } } };
}
