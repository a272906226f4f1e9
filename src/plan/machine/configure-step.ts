import type { Plan, PlanEvent } from "../../../shared/plan.ts";
import { sayMs } from "../../../shared/words/amounts.ts";
import { commandFailed } from "./command-failed.ts";
import type { Ledger, Safe, SafeStep, Target } from "./machine-state.ts";
import { plannedFeed } from "./plan-feeds.ts";
import { continueRise } from "./rise.ts";
import { echoDiffers } from "./setting-echo.ts";
import { endSafe, inStage, type StepResult, stay } from "./step-result.ts";
import { switchOn } from "./switch-on.ts";
import { settingFor } from "./targets.ts";

type Configure = Extract<SafeStep, { step: "configure" }>;

/** A setting that is not answered for this long has failed; nothing is on meanwhile. */
const MOST_MS = 10_000;

/**
 * Sets the feed of a touch or a hold, or every feed for the rise, one after the other while nothing is on: settings are
 * never changed between feeds that come up.
 */
export function enterConfigure(plan: Plan, ledger: Ledger, target: Target, nowMs: number): StepResult {
  const feed = target.stage === "rise" ? ledger.feeds[0] : ledger.feeds[target.index];
  if (feed === undefined) return continueRise(plan, inStage(ledger, "rise"), [], 0, nowMs);
  return configure(plan, inStage(ledger, target.stage), target, feed, nowMs);
}

function configure(plan: Plan, ledger: Ledger, target: Target, feed: string, nowMs: number): StepResult {
  const setting = settingFor(plan, ledger, feed, target.stage);
  if (setting === null)
    return endSafe(ledger, commandFailed(feed, `the plan has no ${target.stage} for ${feed}`), nowMs);
  return {
    state: { kind: "safe", ledger, step: { step: "configure", target, feed, setting, sinceMs: nowMs } },
    effects: [{ effect: "configure", feed, setting, overCurrentOn: false }],
  };
}

export function advanceConfigure(
  plan: Plan,
  state: Safe,
  step: Configure,
  event: PlanEvent,
  nowMs: number,
): StepResult {
  const { ledger } = state;
  if (event.event === "tick" && nowMs - step.sinceMs > MOST_MS) {
    return endSafe(
      ledger,
      commandFailed(step.feed, `the setting of ${step.feed} was not confirmed within ${sayMs(MOST_MS)}`),
      nowMs,
    );
  }
  if (event.event !== "configured") return stay(state);
  const planned = plannedFeed(plan, step.feed);
  const differs =
    planned === undefined || event.feed !== step.feed
      ? `${step.feed} was being set, but ${event.feed} answered`
      : echoDiffers(planned, step.setting, event);
  if (differs !== null)
    return endSafe(
      ledger,
      commandFailed(step.feed, `${step.feed} did not accept its setting: ${differs}; nothing was switched on`),
      nowMs,
    );
  if (step.target.stage !== "rise")
    return switchOn(ledger, [], { feed: step.feed, setting: step.setting, target: step.target }, nowMs);
  const next = ledger.feeds[ledger.feeds.indexOf(step.feed) + 1];
  return next === undefined
    ? continueRise(plan, ledger, [], 0, nowMs)
    : configure(plan, ledger, step.target, next, nowMs);
}
