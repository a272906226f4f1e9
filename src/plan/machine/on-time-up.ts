import type { Plan } from "../../../shared/plan.ts";
import type { Energised } from "./machine-state.ts";

/** Energy that all feeds took since they came on, joules. */
export const joulesTaken = (state: Energised): number =>
  state.energised.reduce((sum, each) => sum + each.track.joules, 0);

/** Whether the board has been at nominal for as long, or has taken as much heat, as its cooling allows. */
export const onTimeIsUp = (plan: Plan, state: Energised, nowMs: number): boolean =>
  state.ledger.nominalSinceMs !== null &&
  (nowMs - state.ledger.nominalSinceMs >= plan.maxOnMs ||
    joulesTaken(state) >= (plan.maxOnJoules ?? Number.POSITIVE_INFINITY));
