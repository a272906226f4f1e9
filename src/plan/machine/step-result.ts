import type { PlanEffect, RunOutcome, StageName, Trip } from "../../../shared/plan.ts";
import type { Finding } from "../trips/finding.ts";
import type { Ledger, PlanState } from "./machine-state.ts";

/** A state and what the bench is asked to do for it, in order. */
export interface StepResult {
  state: PlanState;
  effects: PlanEffect[];
}

export const stay = (state: PlanState): StepResult => ({ state, effects: [] });

const ORDER: readonly StageName[] = ["check", "touch", "inject", "hold-low", "rise", "watch", "margin", "off"];

/** The ledger in a stage; the furthest stage is kept as well. */
export const inStage = (ledger: Ledger, stage: StageName): Ledger => ({
  ...ledger,
  stage,
  reached: ORDER.indexOf(stage) > ORDER.indexOf(ledger.reached) ? stage : ledger.reached,
});

export const tripOf = (ledger: Ledger, finding: Finding, nowMs: number): Trip => ({
  rule: finding.rule,
  feed: finding.feed,
  stage: ledger.stage,
  atMs: nowMs,
  board: finding.board,
  because: finding.because,
});

export const endingOf = (finding: Finding): RunOutcome["ended"] => {
  if (finding.rule === "operator") return "stopped-by-person";
  return finding.board ? "board-stopped" : "failed";
};

/** The run is over without a trip; all outputs have been proved off, or `output` says that a person's hand is in doubt. */
export const endAsPlanned = (ledger: Ledger, output: "off" | "unknown" = "off"): StepResult => ({
  state: { kind: "ended", ledger, trip: null, ended: ledger.endedEarly ? "stopped-by-person" : "as-planned", output },
  effects: [{ effect: "finish" }],
});

/** The run is over with nothing on, all outputs having been read back as off. */
export function endSafe(ledger: Ledger, finding: Finding, nowMs: number): StepResult {
  return {
    state: { kind: "ended", ledger, trip: tripOf(ledger, finding, nowMs), ended: endingOf(finding), output: "off" },
    effects: [{ effect: "finish" }],
  };
}
