import type { InjectLevel, InjectPlan, PlanFeed } from "../../../shared/plan.ts";
import { type Sample, stepAmpsOf, stepVoltsOf } from "./feed-track.ts";
import { boardVoltsOf, leadsKnown } from "./lead-drop.ts";

/** The state of one level of an injection: its level so far, and the figures that tell a cleared short. */
export interface InjectTrack {
  level: InjectLevel;
  lastMs: number;
  lastWatts: number;
  /** Volts and amps the level settled at; null while it has not. */
  base: { volts: number; amps: number } | null;
  /** The reading before the newest, and the one before a step that is being confirmed; null while there is none. */
  before: { volts: number; amps: number } | null;
  stepFrom: { volts: number; amps: number } | null;
  /** Samples since the level settled down, for the base. */
  early: readonly { volts: number; amps: number }[];
  /** Readings in a row that show the short gone. */
  clearedRun: number;
}

export const freshInjection = (limitAmps: number, nowMs: number): InjectTrack => ({
  level: {
    limitAmps,
    volts: 0,
    amps: 0,
    boardVolts: null,
    ohms: null,
    watts: 0,
    joules: 0,
    seconds: 0,
    limited: false,
  },
  lastMs: nowMs,
  lastWatts: 0,
  base: null,
  before: null,
  stepFrom: null,
  early: [],
  clearedRun: 0,
});

const BASE_READINGS = 3;

/** Power on the board, watts: volts behind the leads where they are known, else all that leaves the supply. */
export const boardWattsOf = (feed: PlanFeed, sample: { volts: number; amps: number }): number =>
  Math.max(0, boardVoltsOf(feed, sample) * sample.amps);

/** The track with one sample more; from `settledMs` on it may be the level's base. Shares as the plan has them. */
export function withInjectedSample(
  feed: PlanFeed,
  track: InjectTrack,
  sample: Sample,
  by: { sinceMs: number; settledMs: number; voltsUpShare: number; ampsDownShare: number },
): InjectTrack {
  const watts = boardWattsOf(feed, sample);
  const boardVolts = boardVoltsOf(feed, sample);
  const seconds = Math.max(0, sample.atMs - track.lastMs) / 1000;
  const settled = sample.queriedAtMs >= by.settledMs;
  const early = track.base === null && settled ? [...track.early, { volts: boardVolts, amps: sample.amps }] : [];
  const now = { volts: boardVolts, amps: sample.amps };
  // Copper and ceramics warm up over seconds and never step: only a jump from one reading to the next is a short that went.
  const stepFrom = track.base === null ? null : steppedFrom(feed, track, now, by);
  const flows = sample.amps > 3 * stepAmpsOf(feed);
  return {
    level: {
      limitAmps: track.level.limitAmps,
      volts: sample.volts,
      amps: sample.amps,
      boardVolts: leadsKnown(feed) ? boardVolts : null,
      ohms: flows ? Math.max(0, boardVolts / sample.amps) : null,
      watts: Math.max(track.level.watts, watts),
      joules: track.level.joules + Math.max(watts, track.lastWatts) * seconds,
      seconds: Math.max(0, sample.atMs - by.sinceMs) / 1000,
      limited: sample.limiting,
    },
    lastMs: sample.atMs,
    lastWatts: watts,
    base: early.length >= BASE_READINGS ? meanOf(early) : track.base,
    early: early.length >= BASE_READINGS ? [] : early,
    before: now,
    stepFrom,
    clearedRun: stepFrom === null ? 0 : track.clearedRun + 1,
  };
}

function steppedFrom(
  feed: PlanFeed,
  track: InjectTrack,
  now: { volts: number; amps: number },
  by: { voltsUpShare: number; ampsDownShare: number },
): InjectTrack["stepFrom"] {
  if (track.stepFrom !== null && isCleared(feed, track.stepFrom, now, by)) return track.stepFrom;
  return isCleared(feed, track.before, now, by) ? track.before : null;
}

/** Volts up or amps down by more than the shares, and by more than three read-back steps. */
export function isCleared(
  feed: PlanFeed,
  base: InjectTrack["base"],
  now: { volts: number; amps: number },
  by: { voltsUpShare: number; ampsDownShare: number },
): boolean {
  if (base === null) return false;
  const up = now.volts - base.volts;
  const down = base.amps - now.amps;
  return (
    (up > by.voltsUpShare * Math.abs(base.volts) && up > 3 * stepVoltsOf(feed)) ||
    (down > by.ampsDownShare * base.amps && down > 3 * stepAmpsOf(feed))
  );
}

/** A new level that takes much less than the one before it took at a lower limit: the short went while it was off or at once. */
export const clearedBetween = (
  inject: InjectPlan,
  feed: PlanFeed,
  before: InjectLevel | undefined,
  base: { volts: number; amps: number },
): boolean =>
  before !== undefined && isCleared(feed, { volts: Number.POSITIVE_INFINITY, amps: before.amps }, base, inject);

const meanOf = (samples: readonly { volts: number; amps: number }[]): { volts: number; amps: number } => ({
  volts: samples.reduce((sum, each) => sum + each.volts, 0) / samples.length,
  amps: samples.reduce((sum, each) => sum + each.amps, 0) / samples.length,
});
