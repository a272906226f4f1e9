import type { Clock } from "../../shared/clock.ts";
import type { Epoch } from "../../shared/epoch.ts";
import type { BenchQuestion } from "../../shared/ipc.ts";
import type { Plan, PlanEvent, RunOutcome } from "../../shared/plan.ts";
import type { Supply } from "../instrument/supply.ts";
import type { PlanState } from "../plan/machine/machine-state.ts";
import type { CutLane } from "./cut-lane.ts";
import type { GuardianPort } from "./guardian-port.ts";

/** The source of a feed's lead resistance. */
export interface FeedSource {
  supply: Supply;
  channel: number;
}

export interface PlanRunnerOptions {
  plan: Plan;
  clock: Clock;
  /** Every connected output, also those that the plan does not name: a cut covers them all, and they are watched. */
  sources: ReadonlyMap<string, FeedSource>;
  /** Raised by every cut and stop: what was asked before one does not go on after it. */
  epoch: Epoch;
  /** Capture id of the run, for the guardian's incident. */
  record: string;
  cutLane: CutLane;
  guardian: GuardianPort | null;
  /** Settles once no meter drives a current into the board; throws where one may. */
  leaveCold: () => Promise<void>;
  /** Each event in the order it was decided on, with the state it led to; called before its effects are performed. */
  onEvent: (event: PlanEvent, state: PlanState) => void;
  /** Its number is counted from 1 in each run. */
  onQuestion: (question: BenchQuestion) => void;
  /** The run is over. `refusal` is why it could not begin, where its preparation failed; nothing came on then. */
  onEnded: (outcome: RunOutcome, refusal: unknown) => void;
}
