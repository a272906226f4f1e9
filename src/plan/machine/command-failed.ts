import type { Plan, PlanEvent } from "../../../shared/plan.ts";
import { sayMs } from "../../../shared/words/amounts.ts";
import type { Finding } from "../trips/finding.ts";
import { cutOff } from "./cut-off.ts";
import type { Energised } from "./machine-state.ts";
import { type StepResult, stay } from "./step-result.ts";

/** A supply did not do what it was told: a fault of the bench. */
export const commandFailed = (feed: string, because: string): Finding => ({
  rule: "command-failed",
  feed,
  board: false,
  because,
});

/**
 * Waits, through readings and ticks, for an output to do what it was told; one that takes longer than `mostMs` is cut,
 * since nobody knows what it does. `missing` says what did not come. Null for any other event.
 */
export function waitForOutput(
  plan: Plan,
  state: Energised,
  event: PlanEvent,
  wait: { feed: string; sinceMs: number; mostMs: number; missing: string },
  nowMs: number,
): StepResult | null {
  if (event.event !== "reading" && event.event !== "tick") return null;
  const { feed, sinceMs, mostMs, missing } = wait;
  if (nowMs - sinceMs <= mostMs) return stay(state);
  const because = `the output of ${feed} was not ${missing} within ${sayMs(mostMs)}`;
  return cutOff(plan, state, commandFailed(feed, because), nowMs);
}
