import type { Plan, PlanEvent } from "../../shared/plan.ts";
import { advance } from "../../src/plan/machine/advance.ts";
import { initialState, type PlanState } from "../../src/plan/machine/machine-state.ts";

/** The state a record of events leads to; the same as the live run came to. */
export function replay(plan: Plan, events: Iterable<PlanEvent>): PlanState {
  let state = initialState(plan);
  for (const event of events) state = advance(plan, state, event).state;
  return state;
}
