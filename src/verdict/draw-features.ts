import type { DrawFeatures } from "../../shared/draw-verdict.ts";
import { at } from "../analysis/at.ts";
import { inputCapacitanceOf } from "../analysis/input-capacitance.ts";
import { energyOf, integralOf } from "../analysis/integrals.ts";
import { medianOf } from "../analysis/quantile.ts";
import type { Attempt } from "./attempt.ts";
import { type FeedFigures, touchesOf } from "./feed-figures.ts";
import type { Finding } from "./finding.ts";
import { evenSeries, summed, type Watch } from "./watch.ts";

/**
 * Shares of the aim between which the rise is used for capacitance: under the lowest usual lock-out, 4 V of 12 V (trade
 * practice); further up only where too few readings lie below, and only while no converter drew.
 */
const CAPACITANCE_FROM = 0.02;
const CAPACITANCE_TO = [0.3, 0.6, 0.9] as const;

/** The figures behind a verdict; null for what these readings cannot say. `main` is the feed the figures of one feed are of. */
export function drawFeaturesOf(
  all: readonly FeedFigures[],
  main: FeedFigures | undefined,
  watch: Watch | null,
  parts: { periodMs: number | null; finding: Finding },
): DrawFeatures {
  const attempt = main?.attempts[main.attempts.length - 1];
  const look = main === undefined ? undefined : touchesOf(main).findLast(({ conducts }) => conducts);
  const intervals = all
    .map(({ view }) => view.trace.readEveryMs ?? view.intervalMs)
    .filter((interval) => interval !== null);
  const levelled = watch !== null && watch.levelReadings >= 5;
  const limited = all.flatMap(({ attempts }) => attempts.map(({ limitedMs }) => limitedMs));
  return {
    plateauAmps:
      // A start that loops has no level, only a mean of what it did.
      watch !== null && watch.amps.length >= 5 && parts.finding.sub !== "start-loop"
        ? orNull(levelled ? watch.level.mean : medianOf(watch.amps))
        : null,
    peakAmps: orNull(peakOf(all, watch)),
    sampleIntervalMs: intervals.length === 0 ? null : Math.max(...intervals),
    chargeCoulombs: main !== undefined && attempt !== undefined ? chargeOf(main, attempt) : null,
    inputFarads: main !== undefined && attempt !== undefined ? faradsOf(main, attempt) : null,
    shortOhms: parts.finding.shortOhms === undefined ? null : orNull(parts.finding.shortOhms),
    limitedMs: limited.length === 0 || unknownLimit(all) ? null : limited.reduce((sum, each) => sum + each, 0),
    collapseRatio: collapseOf(attempt, look),
    periodMs: parts.periodMs,
    driftAmpsPerMin: watch?.drift == null || watch.drift.lengthMs < 1500 ? null : orNull(watch.drift.perMin),
    plateaus:
      watch === null
        ? null
        : watch.stretches.map(({ level, startMs, endMs }) => ({ amps: level, startMs, lengthMs: endMs - startMs })),
  };
}

/** Energy out of all feeds, joules: null where more than a tenth of it is in doubt, which `says` then puts in words. */
export function drawEnergyOf(all: readonly FeedFigures[]): { joules: number | null; atMost: number } {
  let joules = 0;
  let doubt = 0;
  for (const { view } of all) {
    const part = energyOf(view.trace, 4 * view.stepAmps);
    joules += part.joules;
    doubt += part.doubtJoules;
  }
  const known = doubt <= 0.1 * Math.abs(joules) || (doubt === 0 && joules === 0);
  return { joules: known ? Math.max(0, joules) : null, atMost: joules + doubt };
}

/** Of the sum where the plateau is one, so that the two can be compared; else of the feed that took most. */
function peakOf(all: readonly FeedFigures[], watch: Watch | null): number {
  const added = watch === null ? [] : all.filter(({ view }) => watch.feeds.includes(view.feed));
  const series =
    added.length > 0
      ? [summed(added.map(({ view: { trace } }) => evenSeries(trace)))]
      : all.map(({ view: { trace } }) => evenSeries(trace));
  let most = Number.NEGATIVE_INFINITY;
  for (const { amps } of series) for (const each of amps) if (each > most) most = each;
  return most;
}

/** Charge from switching on until 98 % of the set-point; null where fewer than five readings saw it. */
function chargeOf({ view }: FeedFigures, attempt: Attempt): number | null {
  if (attempt.reachedAt === null || attempt.aimVolts === null) return null;
  const { atMs, volts, amps } = view.trace;
  const stays = medianOf(volts.subarray(attempt.reachedAt, attempt.to));
  let to = attempt.reachedAt;
  while (to < attempt.to && at(volts, to) < 0.98 * stays) to++;
  if (to - attempt.from < 5) return null;
  const whole = integralOf(atMs.subarray(attempt.from, to + 1), amps.subarray(attempt.from, to + 1));
  // The 98 % were passed between two readings: what came after is not counted.
  const [before, after] = [at(volts, to - 1), at(volts, to)];
  const past = after > before ? Math.min(1, Math.max(0, (after - 0.98 * stays) / (after - before))) : 0;
  return whole - past * integralOf(atMs.subarray(to - 1, to + 1), amps.subarray(to - 1, to + 1));
}

function faradsOf({ view }: FeedFigures, attempt: Attempt): number | null {
  if (attempt.aimVolts === null || !view.trace.together) return null;
  const to = attempt.reachedAt ?? attempt.to;
  const lockOut = view.boardFeed?.lockOutVolts?.[0];
  const rise = {
    atMs: view.trace.atMs.subarray(attempt.from, to),
    volts: view.trace.volts.subarray(attempt.from, to),
    amps: view.trace.amps.subarray(attempt.from, to),
  };
  const aim = attempt.aimVolts;
  for (const toVolts of lockOut === undefined ? CAPACITANCE_TO.map((share) => share * aim) : [0.95 * lockOut]) {
    const span = { fromVolts: CAPACITANCE_FROM * aim, toVolts, leadOhms: view.trace.leadOhms ?? 0 };
    const farads = inputCapacitanceOf(rise, span);
    if (farads !== null) return farads;
  }
  return null;
}

function collapseOf(
  attempt: Attempt | undefined,
  look: { volts: number; setVolts: number | null } | undefined,
): number | null {
  if (attempt !== undefined) return attempt.collapseRatio === null ? null : orNull(Math.min(1, attempt.collapseRatio));
  return look === undefined || look.setVolts === null
    ? null
    : orNull(Math.min(1, Math.max(0, look.volts / look.setVolts)));
}

const unknownLimit = (all: readonly FeedFigures[]): boolean =>
  all.some(({ view, attempts }) =>
    attempts.some(({ limited, from }) =>
      limited.some((flag, i) => flag === 2 && at(view.trace.amps, from + i) > view.limits.openAmps),
    ),
  );

const orNull = (value: number): number | null => (Number.isFinite(value) ? value : null);
