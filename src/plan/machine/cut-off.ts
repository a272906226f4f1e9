import type { Plan, RunOutcome } from "../../../shared/plan.ts";
import type { Finding } from "../trips/finding.ts";
import { feedsByHand } from "./feeds-by-hand.ts";
import { nextRaise } from "./ladder.ts";
import type { Cutting, Energised, Ledger } from "./machine-state.ts";
import { endingOf, type StepResult, tripOf } from "./step-result.ts";

/**
 * The cut: all outputs off at once, as the first and only effect. A limit that may have been too low is named, and where
 * the ladder allows it a raise is asked for once the cut is proved. `manual` are feeds that a person is then asked to
 * switch off.
 */
export function cutOff(
  plan: Plan,
  state: Energised,
  finding: Finding,
  nowMs: number,
  manual: readonly string[] = feedsByHand(state),
): StepResult {
  const { ledger, step } = state;
  // A person who ends a hold or an injection, or a run that is being switched off anyway, ends it as planned.
  const wasDone = step.step === "holding" || ledger.stage === "off" || ledger.stage === "inject";
  const planned = finding.rule === "operator" && wasDone;
  const next = finding.higherLimit === true && finding.feed !== null ? nextRaise(plan, ledger, finding.feed) : null;
  const limitToTry = next === null ? ledger.limitToTry : { feed: next.feed, amps: next.toAmps };
  return cutting(
    {
      ledger: { ...ledger, limitToTry },
      trip: planned ? null : tripOf(ledger, finding, nowMs),
      ended: !planned ? endingOf(finding) : ledger.endedEarly ? "stopped-by-person" : "as-planned",
      sinceMs: nowMs,
      raise: next?.mayAsk === true && manual.length === 0 ? next : null,
      manual,
    },
    finding.because,
  );
}

/**
 * The cut of a run that has nothing on by intent: an output came on by itself, somebody switched it on, or the run ends
 * before it began. `manual` are feeds that a person may have switched on.
 */
export function cutUnasked(
  ledger: Ledger,
  finding: Finding,
  nowMs: number,
  manual: readonly string[] = [],
): StepResult {
  const ended: RunOutcome["ended"] = endingOf(finding);
  return cutting(
    { ledger, trip: tripOf(ledger, finding, nowMs), ended, sinceMs: nowMs, raise: null, manual },
    finding.because,
  );
}

const cutting = (state: Omit<Cutting, "kind" | "output">, why: string): StepResult => ({
  state: { kind: "cutting", output: null, ...state },
  effects: [{ effect: "cut", why }],
});
