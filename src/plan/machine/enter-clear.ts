import type { Ledger, Target } from "./machine-state.ts";
import { type StepResult, stay } from "./step-result.ts";

/** Nothing is on, and every feed is to be read under the residual voltage before the target's feed is set up. */
export function enterClear(ledger: Ledger, target: Target, nowMs: number): StepResult {
  return stay({
    kind: "safe",
    ledger,
    step: { step: "clear", target, sinceMs: nowMs, first: {}, seen: {}, windowFromMs: nowMs, windowVolts: null },
  });
}
