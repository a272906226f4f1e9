import type { PlanFeed, StageSetting } from "../../shared/plan.ts";
import type { LiveFeed, Sample } from "./machine-state.ts";

const LOOK_LENGTH = 8;
const LIMITING_WINDOW_MS = 1000;
/** Levels older than this are thinned to every other one, so that a long watch stays small. */
const LEVEL_LENGTH = 720;
const LEVEL_MS = 500;

export const newLiveFeed = (feed: string, setting: StageSetting, atMs: number): LiveFeed => ({
  feed,
  setVolts: setting.volts,
  limitAmps: setting.limitAmps,
  overVolts: setting.overVolts,
  askedOnAtMs: atMs,
  onAtMs: null,
  last: null,
  heardAtMs: atMs,
  look: [],
  limited: [],
  reached90: false,
  falls: 0,
  lowestAfterRise: null,
  joules: 0,
  coulombs: 0,
  risen: false,
  level: [],
});

/** A change of level by this share, or by five read-back steps, is a step and starts the level anew. */
const isStep = (amps: number, mean: number, stepAmps: number): boolean =>
  Math.abs(amps - mean) > Math.max(0.25 * Math.abs(mean), 5 * stepAmps);

function nextLevel(level: LiveFeed["level"], sample: Sample, stepAmps: number): LiveFeed["level"] {
  const last = level.at(-1);
  if (last === undefined) return [{ atMs: sample.atMs, amps: sample.amps, n: 1 }];
  if (sample.atMs - last.atMs < LEVEL_MS) {
    const n = last.n + 1;
    return [...level.slice(0, -1), { atMs: last.atMs, amps: last.amps + (sample.amps - last.amps) / n, n }];
  }
  if (last.n >= 3 && level.length >= 2) {
    const before = level.at(-2);
    // One whole half-second mean away from the one before it: a part of the board came up or dropped out.
    if (before !== undefined && isStep(last.amps, before.amps, stepAmps)) return [last, { atMs: sample.atMs, amps: sample.amps, n: 1 }];
  }
  const grown = [...level, { atMs: sample.atMs, amps: sample.amps, n: 1 }];
  return grown.length <= LEVEL_LENGTH ? grown : grown.filter((_, index) => index === 0 || index % 2 === 1 || index > LEVEL_LENGTH - 120);
}

/**
 * The feed with one more reading: energy and charge so far, stretches of limiting within the last second, whether it
 * has reached 90 % of nominal, and how often it then fell under 80 %.
 */
export function heard(live: LiveFeed, sample: Sample, feed: PlanFeed): LiveFeed {
  const before = live.last;
  const sinceMs = sample.atMs - (before?.atMs ?? live.askedOnAtMs);
  const limitedMs = sample.limiting ? Math.max(0, sinceMs) : 0;
  const limited = [...live.limited.filter(([end]) => end > sample.atMs - LIMITING_WINDOW_MS), ...(limitedMs > 0 ? [[sample.atMs, limitedMs] as const] : [])];
  const nominal = feed.nominalVolts;
  const atNominal = live.setVolts >= 0.9 * nominal;
  const reached90 = live.reached90 || (atNominal && sample.volts >= 0.9 * nominal);
  const fell = live.reached90 && sample.volts < 0.8 * nominal && (before === null || before.volts >= 0.8 * nominal);
  // Never more than a second of the present level: a gap in the readings is not charged for in full.
  const seconds = Math.min(Math.max(0, sinceMs), 1000) / 1000;
  return {
    ...live,
    last: sample,
    heardAtMs: sample.atMs,
    look: [...live.look.slice(1 - LOOK_LENGTH), sample],
    limited,
    reached90,
    falls: live.falls + (fell ? 1 : 0),
    lowestAfterRise: live.reached90 ? Math.min(live.lowestAfterRise ?? sample.volts, sample.volts) : null,
    joules: live.joules + Math.max(0, sample.volts * sample.amps) * seconds,
    coulombs: live.coulombs + Math.max(0, sample.amps) * seconds,
    level: live.risen ? nextLevel(live.level, sample, feed.stepAmps ?? 0.001) : live.level,
  };
}

/** Milliseconds of limiting within the last second. */
export const limitedMsOf = (live: LiveFeed): number => live.limited.reduce((sum, [, length]) => sum + length, 0);
