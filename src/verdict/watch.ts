import type { DrawTrace } from "../../shared/draw-input.ts";
import { at } from "../analysis/at.ts";
import { type Drift, driftOf } from "../analysis/drift.ts";
import { evenFinite } from "../analysis/even-out.ts";
import { madSigmaOf, noiseOf } from "../analysis/noise.ts";
import { type PlateauLevel, plateauLevelOf } from "../analysis/plateau-level.ts";
import { type LevelStretch, levelStretchesOf } from "../analysis/plateaus.ts";
import { medianOf } from "../analysis/quantile.ts";
import { readIntervalOf } from "../analysis/read-interval.ts";
import { ampsUncertainty } from "../analysis/reading-uncertainty.ts";
import type { Attempt } from "./attempt.ts";
import type { FeedFigures } from "./feed-figures.ts";
import type { VerdictLimits } from "./verdict-limits.ts";

/** The draw while every feed of a set was at its nominal voltage: the sum of their currents. */
export interface Watch {
  feeds: string[];
  atMs: Float64Array;
  amps: Float64Array;
  startMs: number;
  lengthMs: number;
  intervalMs: number | null;
  stepAmps: number;
  noiseAmps: number;
  /** From the first feed's beginning, so the steps of the start are in it. */
  stretches: LevelStretch[];
  /** The level at which the draw stayed in the end. */
  level: PlateauLevel;
  levelLengthMs: number;
  levelReadings: number;
  drift: Drift | null;
  /** Standard uncertainty of the level: instruments, steps and scatter. */
  standardU: number;
  /** The instruments' noise with the outputs off, as the standard deviation of one reading of the sum; null where too little was read. */
  ownNoiseAmps: number | null;
  limits: VerdictLimits;
}

/** Null where no feed of the set ever stayed at its nominal voltage, or never all of them at once. */
export function watchOf(all: readonly FeedFigures[]): Watch | null {
  const parts = all.flatMap((figures) => {
    const attempt = figures.attempts.findLast(({ reachedAt }) => reachedAt !== null);
    if (attempt === undefined || attempt.reachedAt === null) return [];
    const { atMs } = figures.view.trace;
    const to = beforeLimit(attempt, attempt.reachedAt);
    return [{ figures, attempt, to, startMs: at(atMs, attempt.reachedAt), endMs: at(atMs, to - 1) }];
  });
  if (parts.length === 0 || parts.length < all.length) return null;
  const startMs = Math.max(...parts.map((part) => part.startMs));
  const endMs = Math.min(...parts.map((part) => part.endMs));
  if (!(endMs > startMs)) return null;
  const series = parts.map(({ figures, attempt, to: last }) => {
    const { atMs, amps } = figures.view.trace;
    let from = attempt.reachedAt ?? attempt.from;
    let to = last;
    while (from < to && at(atMs, from) < startMs) from++;
    while (to > from && at(atMs, to - 1) > endMs) to--;
    return finite(atMs.subarray(from, to), amps.subarray(from, to), figures.view.trace.readEveryMs !== undefined);
  });
  const { atMs, amps } = summed(series);
  if (atMs.length < 2) return null;
  const limits = parts[0]?.figures.view.limits;
  if (limits === undefined) return null;
  const stepAmps = Math.max(...parts.map(({ figures }) => figures.view.stepAmps));
  const middle = medianOf(amps);
  const stretches = levelStretchesOf(atMs, amps, Math.max(3 * stepAmps, 0.04 * Math.abs(middle), 0.003));
  const last = stretches[stretches.length - 1];
  const from = last?.from ?? 0;
  const settled = amps.subarray(from);
  const level = plateauLevelOf(settled, stepAmps);
  // One reading alone has no scatter of its own; its step is then all that is known.
  let squares = (Number.isFinite(level.stdError) ? level.stdError : level.stdDev || 0) ** 2;
  for (const [index, { figures }] of parts.entries()) {
    const share = medianOf(series[index]?.amps.subarray(-Math.max(3, (series[index]?.amps.length ?? 0) >> 1)) ?? []);
    squares += ampsUncertainty(share, figures.view.trace.accuracy, figures.view.stepAmps) ** 2;
  }
  return {
    feeds: parts.map(({ figures }) => figures.view.feed),
    atMs,
    amps,
    startMs,
    lengthMs: endMs - startMs,
    intervalMs: readIntervalOf(atMs),
    stepAmps,
    noiseAmps: noiseOf(settled),
    stretches,
    level,
    levelLengthMs: at(atMs, atMs.length - 1) - at(atMs, from),
    levelReadings: settled.length,
    drift: driftOf(...afterSettling(atMs.subarray(from), settled)),
    standardU: Math.sqrt(squares),
    ownNoiseAmps: ownNoiseOf(parts.map(({ figures }) => figures)),
    limits,
  };
}

/** Fewer readings than this say nothing of the noise. */
const LEAST_OFF_READINGS = 8;

/** The scatter of the readings while the outputs were off, all feeds added; from their median, since the input may have been emptying. */
function ownNoiseOf(all: readonly FeedFigures[]): number | null {
  let squares = 0;
  for (const { view } of all) {
    const { setVolts, amps } = view.trace;
    const off = setVolts === null ? new Float64Array() : amps.filter((_, index) => at(setVolts, index) === 0);
    if (off.length < LEAST_OFF_READINGS) return null;
    squares += madSigmaOf(off) ** 2;
  }
  return Math.sqrt(squares);
}

/** A step's own tail (filters, soft starts) is no drift: half a second after it is left out where enough remains. */
function afterSettling(atMs: Float64Array, amps: Float64Array): [Float64Array, Float64Array] {
  const begin = at(atMs, 0) + 500;
  let from = 0;
  while (from < atMs.length && at(atMs, from) < begin) from++;
  return atMs.length - from >= 8 ? [atMs.subarray(from), amps.subarray(from)] : [atMs, amps];
}

/** A watch that ended in the limit, or with the volts gone, is judged by what came before it. */
function beforeLimit(attempt: Attempt, reachedAt: number): number {
  let to = attempt.endsFallenAt ?? attempt.to;
  while (to > reachedAt + 1 && at(attempt.limited, to - 1 - attempt.from) === 1) to--;
  return to;
}

interface Stamped {
  atMs: Float64Array;
  amps: Float64Array;
}

/** The currents of a whole trace at their stamps, what is no number left out. */
export const evenSeries = ({ atMs, amps, readEveryMs }: DrawTrace): Stamped =>
  finite(atMs, amps, readEveryMs !== undefined);

function finite(atMs: Float64Array, amps: Float64Array, thinned: boolean): Stamped {
  const even = evenFinite(atMs, amps, thinned);
  return { atMs: even.atMs, amps: even.values };
}

/** The currents added at the stamps of the feed that was read most often; the others count with their last reading. */
export function summed(series: readonly Stamped[]): Stamped {
  const base = series.reduce((most, each) => (each.atMs.length > most.atMs.length ? each : most));
  if (series.length === 1) return base;
  const amps = Float64Array.from(base.amps);
  for (const other of series) {
    if (other === base) continue;
    let next = 0;
    for (let i = 0; i < amps.length; i++) {
      while (next + 1 < other.atMs.length && at(other.atMs, next + 1) <= at(base.atMs, i)) next++;
      amps[i] = at(amps, i) + (other.amps[next] ?? 0);
    }
  }
  return { atMs: base.atMs, amps };
}
