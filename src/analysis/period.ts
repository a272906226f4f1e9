import { at } from "./at.ts";
import { autocorrelationOf } from "./autocorrelation.ts";
import { onGrid } from "./even-out.ts";
import { lombScargle } from "./lomb-scargle.ts";
import { readIntervalOf } from "./read-interval.ts";
import { thinOut } from "./thin-out.ts";

export interface Period {
  periodMs: number;
  /** Height of the autocorrelation at this lag or one of its first multiples, at most 1. */
  strength: number;
  /** Share of the variance that the period's first four harmonics take up (Lomb–Scargle on the real stamps). */
  power: number;
}

export interface PeriodSpan {
  shortestMs: number;
  longestMs: number;
}

/** The periods a record can show: at least three intervals long, and five of them within the record. */
export function resolvablePeriods(intervalMs: number, lengthMs: number): PeriodSpan | null {
  const span = { shortestMs: 3 * intervalMs, longestMs: lengthMs / 5 };
  return span.shortestMs < span.longestMs ? span : null;
}

const MOST_POINTS = 32_768;
const MOST_FOR_SCARGLE = 4096;

/**
 * The strongest period of a record with uneven stamps, or null where nothing repeats within what it can resolve. Found
 * by autocorrelation on an even grid (smoothed over three cells, since a pulse of one reading wanders by one), made
 * exact by Lomb–Scargle on the stamps as they are. `values` may hold NaN, which is left out. n·log n.
 */
export function periodOf(atMs: Float64Array, values: Float64Array): Period | null {
  const series = thinOut(atMs, values, MOST_POINTS);
  const n = series.values.length;
  const medianMs = readIntervalOf(series.atMs);
  if (n < 15 || medianMs === null) return null;
  const intervalMs = Math.max(medianMs, (at(series.atMs, n - 1) - at(series.atMs, 0)) / MOST_POINTS);
  const span = resolvablePeriods(intervalMs, at(series.atMs, n - 1) - at(series.atMs, 0));
  if (span === null) return null;
  const correlation = autocorrelationOf(smoothed(onGrid(series.atMs, series.values, intervalMs, 2 * MOST_POINTS)));
  const lag = firstPeak(correlation, Math.floor(span.shortestMs / intervalMs), Math.floor(span.longestMs / intervalMs));
  if (lag === null) return null;
  const best = refined(series.atMs, series.values, {
    guessMs: lag * intervalMs,
    intervalMs,
    shortestMs: span.shortestMs,
  });
  return { ...best, strength: Math.min(1, strengthOf(correlation, best.periodMs / intervalMs, at(correlation, lag))) };
}

/** A period between two cells of the grid lines up with neither: of its first six multiples, the one that does best counts. */
function strengthOf(correlation: Float64Array, periodCells: number, first: number): number {
  let most = first;
  for (let times = 1; times <= 6; times++) {
    const lag = Math.round(times * periodCells);
    if (lag < correlation.length / 2) most = Math.max(most, at(correlation, lag));
  }
  return most;
}

function smoothed(values: Float64Array): Float64Array {
  return values.map((value, i) => {
    const [before, after] = [at(values, Math.max(0, i - 1)), at(values, Math.min(values.length - 1, i + 1))];
    return (before + value + after) / 3;
  });
}

/** The first local top after the correlation has first fallen under 0.2 that comes within 0.1 of the highest one. */
function firstPeak(correlation: Float64Array, shortest: number, longest: number): number | null {
  let begin = 1;
  while (begin <= longest && at(correlation, begin) > 0.2) begin++;
  begin = Math.max(begin, shortest, 2);
  let highest = Number.NEGATIVE_INFINITY;
  const tops: number[] = [];
  for (let lag = begin; lag <= longest; lag++) {
    const here = at(correlation, lag);
    if (here >= at(correlation, lag - 1) && here > at(correlation, lag + 1)) {
      tops.push(lag);
      highest = Math.max(highest, here);
    }
  }
  return tops.find((lag) => at(correlation, lag) >= Math.max(0.3, highest - 0.1)) ?? null;
}

interface Guess {
  guessMs: number;
  intervalMs: number;
  shortestMs: number;
}

function refined(atMs: Float64Array, values: Float64Array, guess: Guess): Omit<Period, "strength"> {
  const n = Math.min(values.length, MOST_FOR_SCARGLE);
  const [times, amounts] = [atMs.subarray(0, n), values.subarray(0, n)];
  const powerAt = (periodMs: number) => {
    let sum = 0;
    for (let harmonic = 1; harmonic <= 4; harmonic++) {
      // A harmonic shorter than two intervals says nothing of its own.
      if (periodMs / harmonic >= 2 * guess.intervalMs) sum += lombScargle(times, amounts, periodMs / harmonic);
    }
    return Math.min(1, sum);
  };
  const lengthMs = at(times, n - 1) - at(times, 0);
  const best = searched(powerAt, lengthMs, guess);
  // A beat between two cells of the grid correlates best at a multiple of itself; the beat takes up more of the variance.
  let part = best;
  for (let parts = 2; parts <= 6 && best.periodMs / parts >= guess.shortestMs; parts++) {
    const power = powerAt(best.periodMs / parts);
    if (power > part.power + 0.05) part = { periodMs: best.periodMs / parts, power };
  }
  return part === best ? best : searched(powerAt, lengthMs, { ...guess, guessMs: part.periodMs });
}

function searched(powerAt: (periodMs: number) => number, lengthMs: number, { guessMs, intervalMs }: Guess) {
  let best = { periodMs: guessMs, power: powerAt(guessMs) };
  let reachMs = 1.2 * intervalMs;
  // One cycle more or less over the record moves the period by T²/length: each pass looks a tenth as far, as finely as that.
  for (let pass = 0; pass < 3; pass++) {
    const stepMs = Math.max(reachMs / 12, (guessMs * guessMs) / lengthMs / 8 / 4 ** pass);
    const middle = best.periodMs;
    for (let periodMs = middle - reachMs; periodMs <= middle + reachMs; periodMs += stepMs) {
      if (periodMs <= 2 * intervalMs) continue;
      const power = powerAt(periodMs);
      if (power > best.power) best = { periodMs, power };
    }
    reachMs = stepMs;
  }
  return best;
}
