import type { Clock } from "../../shared/clock.ts";
import type { Plan, PlanEvent, RunOutcome } from "../../shared/plan.ts";
import type { Supply } from "../instrument/supply.ts";
import type { PlanState } from "../plan/machine/machine-state.ts";
import type { CutLane } from "./cut-lane.ts";
import type { GuardianPort } from "./guardian-port.ts";

/** Where a feed's leads come from. */
export interface FeedSource {
  supply: Supply;
  channel: number;
}

export interface Question {
  asks: "raise-limit" | "manual-on" | "manual-off";
  feed: string;
  fromAmps: number | null;
  toAmps: number | null;
  because: string;
}

export interface PlanRunnerOptions {
  plan: Plan;
  clock: Clock;
  sources: ReadonlyMap<string, FeedSource>;
  /** Capture id of the run, for the guardian's incident. */
  record: string;
  cutLane: CutLane;
  guardian: GuardianPort | null;
  /** Each event in the order it was decided on, with the state it led to; called before its effects are performed. */
  onEvent: (event: PlanEvent, state: PlanState) => void;
  onQuestion: (question: Question) => void;
  onEnded: (outcome: RunOutcome) => void;
}
