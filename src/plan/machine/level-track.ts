import type { MarginStep, PlanFeed } from "../../../shared/plan.ts";
import { closeIntervalMs } from "../compile/close-interval.ts";
import { type Sample, stepAmpsOf } from "./feed-track.ts";
import { boardVoltsOf } from "./lead-drop.ts";

/** Means over the newest stretches of one step; `sums` is the stretch under way. */
export interface LevelTrack {
  fromMs: number;
  sums: { count: number; volts: number; amps: number; square: number };
  before: Stretch | null;
  last: Stretch | null;
}

interface Stretch {
  count: number;
  volts: number;
  amps: number;
  standardAmps: number;
}

const LEAST_MS = 500;
/** Two stretches in a row that agree this well have settled. */
const SETTLED_SHARE = 0.01;
const NO_SUMS = { count: 0, volts: 0, amps: 0, square: 0 };

export const freshLevel = (fromMs: number): LevelTrack => ({ fromMs, sums: NO_SUMS, before: null, last: null });

/** The track with one sample more. A stretch is half a second, or four readings of a slow supply. */
export function withLevelSample(feed: PlanFeed, track: LevelTrack, sample: Sample): LevelTrack {
  if (sample.queriedAtMs < track.fromMs) return track;
  const sums = {
    count: track.sums.count + 1,
    volts: track.sums.volts + boardVoltsOf(feed, sample),
    amps: track.sums.amps + sample.amps,
    square: track.sums.square + sample.amps ** 2,
  };
  if (sample.atMs - track.fromMs < LEAST_MS || sums.count < Math.min(4, LEAST_MS / closeIntervalMs(feed)))
    return { ...track, sums };
  return { fromMs: sample.atMs, sums: NO_SUMS, before: track.last, last: stretchOf(feed, sums) };
}

/** Scatter and the read-back step, a rectangle of its width (JCGM 100:2008, 4.3.7 and 4.2.3). */
function stretchOf(feed: PlanFeed, { count, volts, amps, square }: LevelTrack["sums"]): Stretch {
  const mean = amps / count;
  const variance = count < 2 ? 0 : Math.max(0, square - count * mean ** 2) / (count - 1);
  return {
    count,
    volts: volts / count,
    amps: mean,
    standardAmps: Math.sqrt(variance / count + stepAmpsOf(feed) ** 2 / 12),
  };
}

/** Whether the last two stretches agree: 1 % and two read-back steps. */
export function levelIsSettled(feed: PlanFeed, { before, last }: LevelTrack): boolean {
  if (before === null || last === null) return false;
  return Math.abs(last.amps - before.amps) <= Math.max(SETTLED_SHARE * Math.abs(last.amps), 2 * stepAmpsOf(feed));
}

/** The level that the step came to; null where nothing was read in it. */
export function marginStepOf(feed: PlanFeed, track: LevelTrack, setVolts: number): MarginStep | null {
  const stretch = track.last ?? (track.sums.count > 0 ? stretchOf(feed, track.sums) : null);
  if (stretch === null) return null;
  const { volts, amps, standardAmps } = stretch;
  return { setVolts, volts, amps, standardAmps, settled: levelIsSettled(feed, track) };
}
