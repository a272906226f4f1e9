import type { SweepPoint } from "../../shared/sweep.ts";
import { madSigmaOf } from "../analysis/noise.ts";
import { straightLine } from "../analysis/straight-line.ts";
import { type Sample, spanMs } from "./sample.ts";

/** The bound within which one point counts as still; in its own unit. */
export interface Stillness {
  /** A jump of more than this from what came before is another contact, not noise. */
  step: number;
  /** The standard error of the mean that is small enough. */
  error: number;
  /** Drift over the window that does not matter. */
  drift: number;
  /** Drift that matters even where noise could explain it. */
  mostDrift: number;
}

/** The mean of a steady stretch, or why there is none yet. */
export type Look =
  | { steady: true; mean: number; standardError: number; readings: number; rise: number | null }
  | {
      steady: false;
      why: "short" | "noisy" | "rising" | "falling";
      mean: number;
      standardError: number;
      readings: number;
      /** The rate at which it rises, the point's unit a second; null where no rise is seen. */
      rise: number | null;
    };

/** A contact must hold for this long, milliseconds (`docs/sweep.md`). */
export const HOLD_MS = 300;
const LEAST_READINGS = 5;
/** Older readings of the same contact say little that newer ones do not. */
export const WINDOW_MS = 1500;
/** Mean and drift within a thirtieth of the half tolerance leave the verdict to the meter's accuracy. */
const SHARE_OF_TOLERANCE = 30;
const LEAST_CHANGE_VOLTS = 0.005;
/** Ohms that change by less than 1 % a second have charged (common practice, no source). */
const OHMS_SHARE_PER_SECOND = 0.01;

/** The bound of stillness for a point at about this value; `sigma` is the meter's noise, `windowMs` how long the stretch lasts. */
export function stillnessOf(point: SweepPoint, value: number, sigma: number, windowMs: number): Stillness {
  const size = Math.abs(value);
  if (point.quantity === "ohms") {
    const drift = Math.max(OHMS_SHARE_PER_SECOND * size, 0.02) * (windowMs / 1000);
    return {
      step: Math.max(0.05 * size, 0.1),
      error: Math.max(0.005 * size, 0.01),
      drift,
      mostDrift: 3 * drift,
    };
  }
  if (point.quantity === "diode") return { step: 0.02, error: 0.002, drift: 0.003, mostDrift: 0.01 };
  const half = point.low === null || point.high === null ? 0.05 * Math.max(size, 0.1) : (point.high - point.low) / 2;
  const small = Math.max(half / SHARE_OF_TOLERANCE, sigma / 10);
  return {
    step: Math.max(6 * sigma, LEAST_CHANGE_VOLTS, half / 4),
    error: small,
    drift: small,
    mostDrift: Math.max(half / 10, small),
  };
}

/** Whether the end of this stretch is steady: its shortest part that is long enough, else all of it. */
export function lookAt(point: SweepPoint, window: readonly Sample[], sigma: number): Look {
  const all = judge(point, window, sigma);
  if (all.steady) return all;
  const end = shortestEnd(window);
  if (end === null || end.length === window.length) return all;
  const ended = judge(point, end, sigma);
  return ended.steady ? ended : all;
}

function shortestEnd(window: readonly Sample[]): readonly Sample[] | null {
  for (let from = window.length - LEAST_READINGS; from >= 0; from--) {
    const end = window.slice(from);
    if (spanMs(end) >= HOLD_MS) return end;
  }
  return null;
}

function judge(point: SweepPoint, samples: readonly Sample[], sigma: number): Look {
  const { mean, error, slope, slopeError } = straightLine(samples);
  const lastsMs = spanMs(samples);
  const rise = slope * Math.sign(mean || 1) > 3 * slopeError ? 1000 * Math.abs(slope) : null;
  const figures = { mean, standardError: error, readings: samples.length, rise };
  if (samples.length < LEAST_READINGS || lastsMs < HOLD_MS) return { steady: false, why: "short", ...figures };
  const still = stillnessOf(point, mean, sigma, lastsMs);
  const drift = Math.abs(slope) * lastsMs;
  const isSeen = Math.abs(slope) > 3 * slopeError;
  if (drift > still.mostDrift || (drift > still.drift && isSeen)) {
    return {
      steady: false,
      why: !isSeen ? "noisy" : slope * Math.sign(mean || 1) > 0 ? "rising" : "falling",
      ...figures,
    };
  }
  if (hasOutlier(point, samples, mean, sigma)) return { steady: false, why: "noisy", ...figures };
  if (error > still.error) return { steady: false, why: "noisy", ...figures };
  return { steady: true, ...figures };
}

/** One reading far from the others is a tip that let go for a moment, also where the mean hardly shows it. */
function hasOutlier(point: SweepPoint, samples: readonly Sample[], mean: number, sigma: number): boolean {
  if (point.quantity !== "volts") return false;
  const values = samples.map((each) => each.value);
  const most = Math.max(6 * sigma, LEAST_CHANGE_VOLTS, 6 * madSigmaOf(values));
  return values.some((value) => Math.abs(value - mean) > most);
}
