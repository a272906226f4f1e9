import { at } from "../at.ts";
import { noiseOf } from "../noise.ts";
import { quantileOf } from "../quantile.ts";
import { type Crossing, risingCrossing } from "./crossing.ts";
import { type StateLevels, stateLevelsOf } from "./state-levels.ts";

/** A step as IEEE Std 181-2011 describes it. Times of crossings on the trace's own time, durations in ms. */
export interface StepTimes extends StateLevels {
  noise: number;
  /** Typical distance of two samples. */
  sampleMs: number;
  /** Through 10 %, 50 % and 90 % of the amplitude (5.3.3); the 10 % is the last before the 90 %. */
  p10: Crossing;
  p50: Crossing;
  p90: Crossing;
  /** The first crossing of 10 %, which is not that of `p10` where it fell back before it came up. */
  begins: Crossing;
  /** From 50 % until the last entry into the band around the high state; null where it is not in it at the end. */
  settlesMs: number | null;
  settlesStandardMs: number | null;
  /** Greatest value above the high state, as a share of the amplitude; 0 where noise alone would make it. */
  overshoot: number;
  overshootStandard: number;
}

/** The band around the high state, as a share of the amplitude; noise makes it wider. */
const BAND_SHARE = 0.02;
/** Noise is told from a crossing by this many standard deviations. */
const SIGMAS = 4;
/** A crossing's reach stays well under the 10 % it is to find. */
const MOST_REACH_SHARE = 0.04;
/** The part after a transition in which an aberration counts, in transition durations (5.3.6: three are common). */
const ABERRATION_DURATIONS = 3;

/**
 * The times of the first step up in a trace of one signal; null where it does not step up.
 */
export function stepTimesOf(atMs: Float64Array, values: Float64Array): StepTimes | null {
  const noise = noiseIn(values);
  const levels = stateLevelsOf(values, noise);
  if (levels === null) return null;
  const { low, high } = levels;
  const amplitude = high - low;
  if (!(amplitude > SIGMAS * noise)) return null;
  const reach = Math.min(SIGMAS * noise, MOST_REACH_SHARE * amplitude);
  const through = (share: number, from = 0): Crossing | null =>
    risingCrossing(atMs, values, { level: low + share * amplitude, reach, noise, from });
  const begins = through(0.1);
  const p90 = begins === null ? null : through(0.9);
  if (begins === null || p90 === null) return null;
  const p10 = lastBefore(p90, (from) => through(0.1, from), begins);
  const p50 = through(0.5, Math.max(0, p10.index - 1)) ?? p90;
  const sampleMs = sampleMsOf(atMs);
  const band = Math.max(BAND_SHARE * amplitude, SIGMAS * noise);
  const settled = settledAt({ atMs, values, high, band, from: p50.index });
  const untilMs =
    Math.max(settled ?? p90.atMs, p90.atMs) + ABERRATION_DURATIONS * Math.max(p90.atMs - p10.atMs, sampleMs);
  const peak = peakIn({ atMs, values, from: p90.index, untilMs }) - high;
  return {
    ...levels,
    noise,
    sampleMs,
    begins,
    p10,
    p50,
    p90,
    settlesMs: settled === null ? null : Math.max(0, settled - p50.atMs),
    settlesStandardMs: settled === null ? null : Math.hypot(sampleMs / Math.sqrt(12), p50.standardMs),
    overshoot: peak > SIGMAS * noise ? peak / amplitude : 0,
    overshootStandard: noise / amplitude,
  };
}

/** Noise of a signal that also steps and rings: differences of neighbours, which those do not raise. */
function noiseIn(values: Float64Array): number {
  const noise = noiseOf(values);
  return Number.isFinite(noise) ? noise : 0;
}

export function sampleMsOf(atMs: Float64Array): number {
  const steps = new Float64Array(Math.max(0, atMs.length - 1));
  for (let i = 1; i < atMs.length; i++) steps[i - 1] = at(atMs, i) - at(atMs, i - 1);
  return quantileOf(steps, 0.5);
}

/** The last crossing that comes before another; looks on from the first one. */
function lastBefore(end: Crossing, next: (from: number) => Crossing | null, first: Crossing): Crossing {
  let last = first;
  for (let tries = 0; tries < 10_000; tries++) {
    const found = next(last.index);
    if (found === null || found.index > end.index) break;
    last = found;
  }
  return last;
}

interface Part {
  atMs: Float64Array;
  values: Float64Array;
  from: number;
}

/** When the signal last came into the band; null where it is outside at the end. */
function settledAt({ atMs, values, high, band, from }: Part & { high: number; band: number }): number | null {
  for (let i = values.length - 1; i >= from; i--) {
    const value = at(values, i);
    if (!Number.isFinite(value) || Math.abs(value - high) <= band) continue;
    if (i === values.length - 1) return null;
    // The moment it crossed the band's edge, between the last sample outside and the next one inside.
    const [edge, next] = [value > high ? high + band : high - band, at(values, i + 1)];
    const share = Number.isFinite(next) && next !== value ? (edge - value) / (next - value) : 1;
    return at(atMs, i) + Math.min(1, Math.max(0, share)) * (at(atMs, i + 1) - at(atMs, i));
  }
  return at(atMs, from);
}

function peakIn({ atMs, values, from, untilMs }: Part & { untilMs: number }): number {
  let peak = Number.NEGATIVE_INFINITY;
  for (let i = from; i < values.length && at(atMs, i) <= untilMs; i++) peak = Math.max(peak, at(values, i));
  return peak;
}
