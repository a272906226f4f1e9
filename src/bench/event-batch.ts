import type { FromBench } from "../../shared/ipc.ts";
import type { Plan, PlanEvent } from "../../shared/plan.ts";
import { describeState } from "../plan/machine/describe-state.ts";
import { energisedFeeds, type PlanState } from "../plan/machine/machine-state.ts";
import type { PlanRunner } from "./plan-runner.ts";

/**
 * The events of a run on their way to the daemon: kept a moment so that they go together, told at once where the stage
 * or the open question changes.
 */
export class EventBatch {
  readonly #send: (message: FromBench) => void;
  #events: PlanEvent[] = [];
  #shown = "";
  #run = 0;
  #questionsBefore = 0;

  constructor(send: (message: FromBench) => void) {
    this.#send = send;
  }

  /** A run begins: its first stage is a change. Its questions count on from those that were asked before it. */
  begin(run: number, questionsBefore: number): void {
    this.#shown = "";
    this.#events = [];
    this.#run = run;
    this.#questionsBefore = questionsBefore;
  }

  /** Answers whether the stage or the open question changed with this event. */
  add(event: PlanEvent, state: PlanState, plan: Plan): boolean {
    this.#events.push(event);
    const { stage, feed, question } = describeState(plan, state);
    const before = this.#shown;
    this.#shown = `${stage} ${feed ?? ""} ${question ?? ""}`;
    return this.#shown !== before;
  }

  /** Tells what there is to tell of a run now. */
  flush(runner: PlanRunner | undefined): void {
    if (runner === undefined || (this.#events.length === 0 && (runner.hasEnded || !runner.hasBegun))) return;
    const { plan, state } = runner;
    const described = describeState(plan, state);
    const question = described.question === null ? null : this.#questionsBefore + described.question;
    const progress = { ...described, question, energised: energisedFeeds(state) };
    this.#send({ type: "events", run: this.#run, events: this.#events.splice(0), progress });
  }
}
