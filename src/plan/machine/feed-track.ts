import type { PlanFeed, StageSetting } from "../../../shared/plan.ts";
import { ampsOf, type FeedReading, voltsOf } from "../../../shared/reading.ts";
import { isLimited } from "../../analysis/limiting.ts";
import { DEFAULT_STEP_AMPS, DEFAULT_STEP_VOLTS } from "../compile/default-limits.ts";

/** A reading with both numbers, taken while its output was on. */
export interface Sample {
  queriedAtMs: number;
  atMs: number;
  volts: number;
  amps: number;
  limiting: boolean;
  /** The supply said nothing of its regulation: limiting was inferred from volts and amps. */
  inferred: boolean;
}

/** A feed whose readings are kept: what it was set to, and when on was asked for and read back. */
export interface TrackedFeed {
  setting: StageSetting;
  askedMs: number;
  onMs: number | null;
  track: FeedTrack;
}

/** Time in the limit as readings show it. */
export interface LimitedStretch {
  fromMs: number;
  toMs: number;
  /** The number of readings in it that showed the limit. */
  readings: number;
  /** The limit held before it too, with a gap that nobody looked into. */
  continues: boolean;
}

/** The part kept of an energised feed's readings; everything the trips look at. */
export interface FeedTrack {
  last: Sample | null;
  /** Samples since the last setting, newest last, at most four. */
  recent: readonly Sample[];
  /** Energy since on. The first reading counts back to the moment on was asked for. */
  joules: number;
  /**
   * Charge and energy that must have flowed: between two readings the lesser of them. What an inrush did in a gap nobody looked
   * into is not the board's fault.
   */
  leastCoulombs: number;
  leastJoules: number;
  /** Read-back step that every current since on fits, amps; null while none flowed. */
  gridAmps: number | null;
  /** Stretches of limiting, the last second of them. */
  limiting: readonly LimitedStretch[];
  /** When the feed first reached 90 % of its set-point. */
  reachedMs: number | null;
  /** Times, within the last second, of sags after that: volts that a supply out of its limit does not give. */
  sagsMs: readonly number[];
  /** Falls under 80 % after that, and since when it is down. */
  falls: number;
  downSinceMs: number | null;
  /** Turns of the volts while limiting: a saw-tooth between two lock-outs. */
  turns: number;
  rising: boolean;
  turnVolts: number | null;
  /** Readings in a row above the power the setting allows. */
  overPowerRun: number;
}

export const FRESH_TRACK: FeedTrack = {
  last: null,
  recent: [],
  joules: 0,
  leastCoulombs: 0,
  leastJoules: 0,
  gridAmps: null,
  limiting: [],
  reachedMs: null,
  sagsMs: [],
  falls: 0,
  downSinceMs: null,
  turns: 0,
  rising: true,
  turnVolts: null,
  overPowerRun: 0,
};

export const stepVoltsOf = (feed: PlanFeed): number => feed.stepVolts ?? DEFAULT_STEP_VOLTS;
export const stepAmpsOf = (feed: PlanFeed): number => feed.stepAmps ?? DEFAULT_STEP_AMPS;

const REACHED = 0.9;
const FALLEN = 0.8;
const SECOND_MS = 1000;
/** Share of volts · limit that read-back errors may add before a reading counts as over the power allowed. */
const POWER_MARGIN = 1.2;

/** The reading as a sample of this energised feed; null where a number is missing, or it was asked for before on, or is no news. */
export function sampleOf(feed: PlanFeed, live: TrackedFeed, reading: FeedReading): Sample | null {
  const volts = voltsOf(reading);
  const amps = ampsOf(reading);
  if (volts === undefined || amps === undefined || reading.queriedAtMs < live.askedMs) return null;
  if (live.track.last !== null && reading.atMs <= live.track.last.atMs) return null;
  return {
    queriedAtMs: reading.queriedAtMs,
    atMs: reading.atMs,
    volts,
    amps,
    limiting:
      isLimited({
        volts,
        amps,
        mode: reading.mode,
        setVolts: live.setting.volts,
        limitAmps: live.setting.limitAmps,
        stepAmps: stepAmpsOf(feed),
      }) === true,
    inferred: reading.mode === "unknown",
  };
}

/** The track with one sample more. */
export function withSample(feed: PlanFeed, live: TrackedFeed, sample: Sample): FeedTrack {
  const { track, setting } = live;
  const before = track.last;
  const fromMs = before?.atMs ?? live.askedMs;
  const seconds = Math.max(0, sample.atMs - fromMs) / SECOND_MS;
  const watts = Math.max(0, sample.volts * sample.amps);
  const wattsBefore = before === null ? watts : Math.max(0, before.volts * before.amps);
  const amps = Math.max(0, sample.amps);
  const ampsBefore = before === null ? 0 : Math.max(0, before.amps);
  const allowedWatts = POWER_MARGIN * setting.overVolts * setting.limitAmps + setting.overVolts * 5 * stepAmpsOf(feed);
  return {
    ...track,
    last: sample,
    recent: [...track.recent, sample].slice(-4),
    joules: track.joules + ((watts + wattsBefore) / 2) * seconds,
    leastCoulombs: track.leastCoulombs + (before === null ? 0 : Math.min(amps, ampsBefore) * seconds),
    leastJoules: track.leastJoules + (before === null ? 0 : Math.min(watts, wattsBefore) * seconds),
    gridAmps: gridWith(track.gridAmps, sample.amps),
    // Only on is proved to be on: time spent arming before it was no limiting.
    limiting: limitingWith(
      track,
      sample,
      before?.atMs ?? Math.min(sample.atMs, live.onMs ?? live.askedMs),
      longestGapMs(feed),
    ),
    overPowerRun: watts > allowedWatts ? track.overPowerRun + 1 : 0,
    sagsMs: sagsWith(track, sample, setting.volts),
    ...levels(track, sample, setting.volts),
    ...turns(track, sample, Math.max(0.05 * setting.volts, 3 * stepVoltsOf(feed))),
  };
}

/** Read-back steps of supplies that print tenths of a milliamp or finer, amps, coarsest first (common practice, no source). */
const GRIDS = [0.001, 0.0001];

/** The coarsest such step that this current fits as well as all before it: a supply may print more figures than it steps by. */
function gridWith(grid: number | null, amps: number): number | null {
  const fits = (step: number): boolean => Math.abs(amps / step - Math.round(amps / step)) < 0.01;
  if (Math.abs(amps) < 1e-6) return grid;
  return GRIDS.find((step) => step <= (grid ?? Number.POSITIVE_INFINITY) && fits(step)) ?? 0;
}

/** The step the amps of this feed move in: the driver's or the printed one, or the coarser one that its readings show. */
export const stepAmpsSeen = (feed: PlanFeed, track: FeedTrack): number =>
  Math.max(stepAmpsOf(feed), track.gridAmps ?? 0);

/** A late reading says nothing of the time before: a gap counts as three read intervals or one round over all feeds at most. */
const longestGapMs = (feed: PlanFeed): number => Math.max(3 * feed.readIntervalMs, feed.roundMs ?? 0);

/** A stretch counts whole between two limiting samples, and half where only one end limits. */
function limitingWith(track: FeedTrack, sample: Sample, afterMs: number, mostMs: number): FeedTrack["limiting"] {
  const before = track.last;
  const wasLimiting = before === null ? sample.limiting : before.limiting;
  const kept = track.limiting.filter((each) => each.toMs > sample.atMs - SECOND_MS);
  if (!wasLimiting && !sample.limiting) return kept.length === track.limiting.length ? track.limiting : kept;
  const gapMs = Math.min(sample.atMs - afterMs, mostMs);
  const readings = sample.limiting ? 1 : 0;
  const last = kept.at(-1);
  if (!wasLimiting) {
    return [...kept, { fromMs: sample.atMs - gapMs / 2, toMs: sample.atMs, readings, continues: false }];
  }
  // The time that a long gap leaves out lies behind the reading before it, where the limit was seen last.
  const span = sample.limiting
    ? { fromMs: sample.atMs - gapMs, toMs: sample.atMs }
    : { fromMs: afterMs, toMs: afterMs + gapMs / 2 };
  return last !== undefined && last.toMs >= span.fromMs
    ? [...kept.slice(0, -1), { ...last, toMs: Math.max(last.toMs, span.toMs), readings: last.readings + readings }]
    : [...kept, { ...span, readings, continues: before !== null }];
}

/** Under this share of the set-point a supply was in its limit a moment ago, whatever its word for its mode says now. */
const SAGGED = 0.95;

function sagsWith(track: FeedTrack, sample: Sample, setVolts: number): readonly number[] {
  const kept = track.sagsMs.filter((each) => each > sample.atMs - SECOND_MS);
  const low = (each: Sample): boolean => each.limiting || each.volts < SAGGED * setVolts;
  const isNew = track.reachedMs !== null && track.last !== null && !low(track.last);
  return isNew && !sample.limiting && low(sample) ? [...kept, sample.atMs] : kept;
}

function levels(
  track: FeedTrack,
  sample: Sample,
  setVolts: number,
): Pick<FeedTrack, "reachedMs" | "falls" | "downSinceMs"> {
  const { reachedMs, falls, downSinceMs } = track;
  if (sample.volts >= REACHED * setVolts) return { reachedMs: reachedMs ?? sample.atMs, falls, downSinceMs: null };
  if (reachedMs === null || sample.volts >= FALLEN * setVolts || downSinceMs !== null)
    return { reachedMs, falls, downSinceMs };
  return { reachedMs, falls: falls + 1, downSinceMs: sample.atMs };
}

function turns(track: FeedTrack, sample: Sample, least: number): Pick<FeedTrack, "turns" | "rising" | "turnVolts"> {
  const { rising, turnVolts } = track;
  const { volts } = sample;
  if (turnVolts === null) return { turns: track.turns, rising, turnVolts: volts };
  const further = rising ? volts >= turnVolts : volts <= turnVolts;
  if (further) return { turns: track.turns, rising, turnVolts: volts };
  if (Math.abs(volts - turnVolts) < least) return { turns: track.turns, rising, turnVolts };
  return { turns: track.turns + 1, rising: !rising, turnVolts: volts };
}

/** Whether any reading of the second before `nowMs` showed the limit. */
export const limitedWithin = (track: FeedTrack, nowMs: number): boolean =>
  track.last?.limiting === true || track.limiting.some((each) => each.toMs > nowMs - SECOND_MS);

/**
 * Milliseconds of limiting in the second before `nowMs`; a limit that was not seen to end counts up to now, but no longer
 * than a gap between readings would. 0 where fewer than two readings show it: one may be a moment's.
 */
export function summedLimitingMs(feed: PlanFeed, track: FeedTrack, nowMs: number): number {
  const sinceMs = nowMs - SECOND_MS;
  const recent = track.limiting.filter((each) => each.toMs > sinceMs);
  if (recent.reduce((sum, each) => sum + each.readings, 0) < 2) return 0;
  const openMs = track.last?.limiting === true ? Math.min(nowMs, track.last.atMs + longestGapMs(feed)) : 0;
  return recent.reduce((sum, each, index) => {
    const toMs = index === recent.length - 1 ? Math.max(each.toMs, openMs) : each.toMs;
    return sum + Math.max(0, Math.min(toMs, nowMs) - Math.max(each.fromMs, sinceMs));
  }, 0);
}
