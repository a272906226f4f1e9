import { medianOf } from "../analysis/quantile.ts";
import { univariateOf } from "../analysis/univariate.ts";
import type { Sample } from "./sample.ts";

/** The meter's readings with the probe in the air, and this meter's own noise. Volts. */
export interface LiftedLevel {
  level: number;
  sigma: number;
  /** Readings it is learned from, the newest last. */
  samples: readonly Sample[];
}

/** A contact is a change from the lifted reading by more than this many standard deviations, and by more than 5 mV. */
const SIGMAS = 6;
const LEAST_VOLTS = 0.005;
const KEPT = 40;
/** A spread from fewer readings than this is not trusted: the noise known before counts as well. */
const TRUSTED = 8;

/** The level with more readings taken in the air; null is none known before. */
export function learned(before: LiftedLevel | null, more: readonly Sample[], isNewRange = false): LiftedLevel {
  const samples = [...(before === null || isNewRange ? [] : before.samples), ...more].slice(-KEPT);
  const values = samples.map((each) => each.value);
  // Not a robust estimate: a last digit that flickers now and then is the noise a contact must stand out from.
  const noise = values.length < 3 ? 0 : univariateOf(values).stdDev;
  return {
    level: medianOf(values),
    sigma: samples.length < TRUSTED ? Math.max(noise, before?.sigma ?? 0) : noise,
    samples,
  };
}

export const contactVolts = (lifted: LiftedLevel | null): number =>
  Math.max(SIGMAS * (lifted?.sigma ?? 0), LEAST_VOLTS);
