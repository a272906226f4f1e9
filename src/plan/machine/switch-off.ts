import type { Plan, PlanEvent } from "../../../shared/plan.ts";
import { afterInjection } from "./after-injection.ts";
import { waitForOutput } from "./command-failed.ts";
import { cutOff } from "./cut-off.ts";
import { enterClear } from "./enter-clear.ts";
import type { Energised, LiveFeed, Target } from "./machine-state.ts";
import { feedsInOrder } from "./plan-feeds.ts";
import { withQuestion } from "./questions.ts";
import { endAsPlanned, inStage, type StepResult, stay } from "./step-result.ts";
import { targetAfter } from "./targets.ts";
import { watchedIn } from "./watched.ts";

/** An output that is not proved off within this is cut. */
const MOST_MS = 4000;

/** Switches one feed off; `target` says what was just done, or "end" for the way out. */
export function leave(state: Energised, feed: string, target: Target | "end", nowMs: number): StepResult {
  const [first, ...rest] = state.energised.map((each) => (each.feed === feed ? { ...each, leaving: true } : each));
  if (first === undefined) return stay(state);
  const step = { step: "switch-off" as const, feed, target, sinceMs: nowMs, watched: watchedIn(state) };
  return {
    state: { ...state, energised: [first, ...rest], step },
    effects: [{ effect: "output-off", feed }],
  };
}

/** The way out: feeds off in reverse order, those a person switches asked for last so that ours never wait for a hand. */
export function beginOff(plan: Plan, state: Energised, nowMs: number): StepResult {
  return nextOff(plan, { ...state, ledger: inStage(state.ledger, "off") }, nowMs);
}

/**
 * A person ends the run. Where the board is up and watched, feeds go off in reverse order; where they go off already, they
 * go on doing so. Anywhere else nothing is in order yet, and all is cut. A hold and an injection last until a person ends
 * them, so that only a watch or a margin run is ended early.
 */
export function endInOrder(plan: Plan, state: Energised, by: string, nowMs: number): StepResult {
  const { step } = state.step;
  if (step === "watch" || step === "level") {
    const note = `ended in order by ${by} before it was finished`;
    return beginOff(plan, { ...state, ledger: { ...state.ledger, endedEarly: true, note } }, nowMs);
  }
  if (step === "holding" || step === "inject") return beginOff(plan, state, nowMs);
  if (state.ledger.stage === "off") return stay(state);
  return cutOff(plan, state, { rule: "operator", feed: null, board: false, because: `ended by ${by}` }, nowMs);
}

function nextOff(plan: Plan, state: Energised, nowMs: number): StepResult {
  const order = feedsInOrder(plan).map((each) => each.feed);
  const last = (feeds: LiveFeed[]): LiveFeed | undefined =>
    feeds.sort((a, b) => order.indexOf(b.feed) - order.indexOf(a.feed))[0];
  const ours = last(state.energised.filter((each) => !each.manual));
  if (ours !== undefined) return leave(state, ours.feed, "end", nowMs);
  const byHand = last([...state.energised]);
  if (byHand === undefined) return stay(state);
  const ledger = withQuestion(state.ledger);
  return {
    state: { ...state, ledger, step: { step: "ask-manual-off", feed: byHand.feed, sinceMs: nowMs } },
    effects: [{ effect: "ask-manual", question: ledger.questions, feed: byHand.feed, wanted: "off" }],
  };
}

/** Waits for the output to be proved off. Null: this event was not decided here. */
export function advanceSwitchOff(plan: Plan, state: Energised, event: PlanEvent, nowMs: number): StepResult | null {
  const { step } = state;
  if (step.step !== "switch-off") return null;
  const { feed, sinceMs } = step;
  const waited = waitForOutput(plan, state, event, { feed, sinceMs, mostMs: MOST_MS, missing: "proved off" }, nowMs);
  if (waited !== null) return waited;
  // A protection that was being armed when the way out began answers after it.
  if (event.event === "configured" && step.target === "end") return stay(state);
  if (event.event !== "output" || event.feed !== step.feed || event.state !== "off") return null;
  const [first, ...rest] = state.energised.filter((each) => each.feed !== step.feed);
  if (first === undefined) {
    if (step.target === "end") return endAsPlanned(state.ledger);
    if (step.target.stage === "inject") return afterInjection(plan, state.ledger, step.feed, nowMs);
    return enterClear(state.ledger, targetAfter(plan, state.ledger, step.target), nowMs);
  }
  // Only the way out switches off beside others.
  if (step.target !== "end") return null;
  return nextOff(plan, { ...state, energised: [first, ...rest] }, nowMs);
}

/** A person's answer about a feed to be switched off by hand; "no" leaves it in doubt, and the outcome says so. */
export function answeredManualOff(plan: Plan, state: Energised, feed: string, yes: boolean, nowMs: number): StepResult {
  const [first, ...rest] = state.energised.filter((each) => each.feed !== feed);
  if (!yes || first === undefined) return endAsPlanned(state.ledger, yes ? "off" : "unknown");
  return nextOff(plan, { ...state, energised: [first, ...rest] }, nowMs);
}
