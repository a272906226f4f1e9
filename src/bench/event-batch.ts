import type { FromBench } from "../../shared/ipc.ts";
import type { Plan, PlanEvent } from "../../shared/plan.ts";
import { describeState } from "../plan/machine/describe-state.ts";
import { energisedFeeds, type PlanState } from "../plan/machine/machine-state.ts";
import type { PlanRunner } from "./plan-runner.ts";

/** The events of a run on their way to the daemon: kept a moment so that they go together, told at once where the stage changes. */
export class EventBatch {
  readonly #send: (message: FromBench) => void;
  #events: PlanEvent[] = [];
  #stage = "";

  constructor(send: (message: FromBench) => void) {
    this.#send = send;
  }

  /** A run begins: its first stage is a change. */
  begin(): void {
    this.#stage = "";
  }

  /** Answers whether the stage changed with this event. */
  add(event: PlanEvent, state: PlanState, plan: Plan): boolean {
    this.#events.push(event);
    const { stage, feed } = describeState(plan, state);
    const before = this.#stage;
    this.#stage = `${stage} ${feed ?? ""}`;
    return this.#stage !== before;
  }

  /** Tells what there is to tell of a run now. */
  flush(run: number, runner: PlanRunner | undefined): void {
    if (runner === undefined || (this.#events.length === 0 && runner.hasEnded)) return;
    const { plan, state } = runner;
    const progress = { ...describeState(plan, state), energised: energisedFeeds(state) };
    this.#send({ type: "events", run, events: this.#events.splice(0), progress });
  }
}
