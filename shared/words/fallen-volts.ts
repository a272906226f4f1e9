/** Less than this across an output is none: the trade's bound for what is left on a feed (common practice, no source), volts. */
const NO_VOLTS = 0.3;
/** A reading lower by this share, and by this much, is no noise of an output that is on (common practice, no source). */
const FALL_SHARE = 0.02;
const LEAST_FALL_VOLTS = 0.05;
const FALL_STEPS = 3;

/**
 * Whether an output's volts show that nothing drives it: next to none, or clearly fallen since `firstVolts`, read after off
 * was said. An output that is on keeps its volts also where no current flows, so its current alone proves nothing.
 * `stepVolts` is the reading's step, null where it is not known.
 */
export function voltsHaveFallen(volts: number, firstVolts: number, stepVolts: number | null): boolean {
  if (Math.abs(volts) < NO_VOLTS) return true;
  const least = Math.max(LEAST_FALL_VOLTS, FALL_STEPS * (stepVolts ?? 0), FALL_SHARE * Math.abs(firstVolts));
  return Math.abs(firstVolts) - Math.abs(volts) >= least;
}
