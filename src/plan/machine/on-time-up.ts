import type { Plan } from "../../../shared/plan.ts";
import type { Energised } from "./machine-state.ts";

/** Whether the board has been at nominal for as long as its cooling allows. */
export const onTimeIsUp = (plan: Plan, state: Energised, nowMs: number): boolean =>
  state.ledger.nominalSinceMs !== null && nowMs - state.ledger.nominalSinceMs >= plan.maxOnMs;
