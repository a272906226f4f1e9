import type { DrawFeatures, DrawUncertainty } from "../../shared/draw-verdict.ts";
import { at } from "../analysis/at.ts";
import { chargeUncertainty, energyUncertainty } from "../analysis/integral-uncertainty.ts";
import { ampsUncertainty, voltsUncertainty } from "../analysis/reading-uncertainty.ts";
import type { FeedFigures } from "./feed-figures.ts";
import type { FeedView } from "./feed-view.ts";
import type { Finding } from "./finding.ts";
import { slopeUncertainty } from "./rule-creeping.ts";
import type { Watch } from "./watch.ts";

/** Coverage factor: about 95 % of a normal spread (JCGM 100:2008, 6.2). */
const K = 2;

interface FigureSource {
  all: readonly FeedFigures[];
  /** The feed the figures of one feed are of. */
  main: FeedFigures | undefined;
  watch: Watch | null;
  finding: Finding;
}

/**
 * The expanded uncertainty (k = 2) of each figure, in its own unit, from the instruments' accuracy and steps, the scatter, and what went on
 * unseen between two readings (JCGM 100:2008: rectangular half-widths by 4.3.7, added in squares by 5.1.2). Where an instrument
 * states no accuracy that of `reading-uncertainty.ts` is taken. Null where the figure is null. A peak's is that of its reading: the
 * true peak may be any amount higher.
 */
export function drawUncertaintyOf(
  { all, main, watch, finding }: FigureSource,
  features: DrawFeatures,
  energyJoules: number | null,
): DrawUncertainty {
  const attempt = main?.attempts[main.attempts.length - 1];
  const charge =
    main === undefined || attempt === undefined || attempt.reachedAt === null
      ? null
      : chargeU(main.view, attempt.from, attempt.reachedAt);
  const expanded = (figure: number | null, u: number | null): number | null =>
    figure === null || u === null || !Number.isFinite(u) ? null : K * u;
  return {
    plateauAmps: expanded(features.plateauAmps, watch?.standardU ?? null),
    peakAmps: expanded(features.peakAmps, Math.max(0, ...all.map(({ view }) => ampsU(view, features.peakAmps ?? 0)))),
    chargeCoulombs: expanded(
      features.chargeCoulombs,
      main === undefined || attempt === undefined || charge === null
        ? null
        : Math.hypot(charge, startU(main.view, attempt.from)),
    ),
    inputFarads: expanded(
      features.inputFarads,
      main === undefined || attempt === undefined || features.inputFarads === null || charge === null
        ? null
        : faradsU(features, charge, main.view, attempt.aimVolts ?? 12),
    ),
    shortOhms: expanded(features.shortOhms, finding.shortOhmsU ?? null),
    limitedMs: expanded(features.limitedMs, limitedU(all)),
    periodMs: expanded(features.periodMs, watch === null ? null : periodU(watch, features.periodMs ?? 0)),
    driftAmpsPerMin: expanded(
      features.driftAmpsPerMin,
      watch?.drift == null ? null : slopeUncertainty(watch, watch.drift) * watch.drift.startLevel,
    ),
    energyJoules: expanded(energyJoules, energyU(all)),
  };
}

const ampsU = ({ trace, stepAmps }: FeedView, amps: number): number => ampsUncertainty(amps, trace.accuracy, stepAmps);

function chargeU(view: FeedView, from: number, to: number): number {
  const [atMs, amps] = [view.trace.atMs.subarray(from, to + 1), view.trace.amps.subarray(from, to + 1)];
  return chargeUncertainty(atMs, amps, (each) => ampsU(view, each));
}

/** It came on anywhere between the reading before and the first that shows it: a rectangle of that current and time. */
function startU({ trace: { atMs, amps }, intervalMs }: FeedView, from: number): number {
  const longest = 3 * (intervalMs ?? 0);
  const sinceMs = from > 0 ? Math.min(longest, at(atMs, from) - at(atMs, from - 1)) : (intervalMs ?? 0);
  return (Math.abs(at(amps, from)) * sinceMs) / 1000 / Math.sqrt(3);
}

/** The charge's share of uncertainty and that of the volts it went into. */
function faradsU({ inputFarads, chargeCoulombs }: DrawFeatures, charge: number, view: FeedView, volts: number): number {
  const shareOfCharge = charge / Math.max(chargeCoulombs ?? 0, (inputFarads ?? 0) * volts);
  const shareOfVolts = voltsUncertainty(volts, view.trace.accuracy, view.stepVolts) / volts;
  return (inputFarads ?? 0) * Math.hypot(shareOfCharge, shareOfVolts);
}

/** Each stretch in the limit began and ended anywhere within a read interval: two rectangles, together interval/√6. */
function limitedU(all: readonly FeedFigures[]): number {
  let squares = 0;
  for (const { view, attempts } of all) {
    for (const { limited } of attempts) {
      let stretches = 0;
      for (let i = 0; i < limited.length; i++) if (at(limited, i) === 1 && at(limited, i - 1) !== 1) stretches++;
      squares += (stretches * (view.intervalMs ?? 0) ** 2) / 6;
    }
  }
  return Math.sqrt(squares);
}

/** First and last pulse are known to a read interval each, over all the periods between them. */
const periodU = (watch: Watch, periodMs: number): number =>
  periodMs > 0 ? (watch.intervalMs ?? 0) / Math.sqrt(6) / Math.max(1, watch.lengthMs / periodMs - 1) : 0;

function energyU(all: readonly FeedFigures[]): number {
  let squares = 0;
  for (const { view } of all) {
    const { trace, stepVolts } = view;
    squares +=
      energyUncertainty(trace, {
        ampsU: (amps) => ampsU(view, amps),
        voltsU: (volts) => voltsUncertainty(volts, trace.accuracy, stepVolts),
      }) ** 2;
  }
  return Math.sqrt(squares);
}
