import { noiseOf } from "../analysis/noise.ts";
import { medianOf } from "../analysis/quantile.ts";
import type { Sample } from "./sample.ts";

/** What the meter reads with the probe in the air, and this meter's own noise. Volts. */
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
  const noise = values.length < 3 ? 0 : Math.max(noiseOf(values), digit(values) / 2);
  return {
    level: medianOf(values),
    sigma: samples.length < TRUSTED ? Math.max(noise, before?.sigma ?? 0) : noise,
    samples,
  };
}

export const contactVolts = (lifted: LiftedLevel | null): number =>
  Math.max(SIGMAS * (lifted?.sigma ?? 0), LEAST_VOLTS);

/**
 * The step of a meter that shows few digits: the smallest difference between values that come again and again. Its
 * flicker would otherwise look like no noise at all, and then like a contact.
 */
function digit(values: readonly number[]): number {
  const distinct = [...new Set(values)].sort((a, b) => a - b);
  if (distinct.length < 2 || distinct.length > values.length / 2) return 0;
  let step = Number.POSITIVE_INFINITY;
  for (let i = 1; i < distinct.length; i++) step = Math.min(step, (distinct[i] ?? 0) - (distinct[i - 1] ?? 0));
  return step;
}
