import type { Plan, PlanFeed, StageName, TripRule } from "../../../shared/plan.ts";
import type { LiveFeed } from "../machine-state.ts";

/** What a rule of one feed looks at; all of it is data, nothing is asked of the outside. */
export interface TripView {
  plan: Plan;
  feed: PlanFeed;
  live: LiveFeed;
  stage: StageName;
  nowMs: number;
}

export interface Tripped {
  rule: TripRule;
  /** True for a fault of the board, false for one of the bench. */
  board: boolean;
  because: string;
}

export type TripCheck = (view: TripView) => Tripped | undefined;

export const volts = (value: number): string => `${value.toFixed(value < 1 ? 3 : 2)} V`;
export const amps = (value: number): string => `${value.toFixed(3)} A`;
