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

/** The time that the board may still stay at nominal, milliseconds: the longest on-time, or its heat at the watts of its last readings; null before. */
export function onTimeLeftMs(plan: Plan, state: Energised, nowMs: number): number | null {
  const since = state.ledger.nominalSinceMs;
  if (since === null) return null;
  const byTime = plan.maxOnMs - (nowMs - since);
  const watts = state.energised.reduce(
    (sum, { track: { last } }) => sum + (last === null ? 0 : last.volts * last.amps),
    0,
  );
  if (plan.maxOnJoules === undefined || watts <= 0) return byTime;
  return Math.min(byTime, Math.max(0, (1000 * (plan.maxOnJoules - joulesTaken(state))) / watts));
}
