import { allowedLimitingMs, MOST_LIMITING_MS } from "../analysis/allowed-limiting.ts";
import { at } from "../analysis/at.ts";
import { limitedReadings, timeInLimit } from "../analysis/limiting.ts";
import { medianOf, quantileOf } from "../analysis/quantile.ts";
import { type FallUnderLoad, fallsUnderLoad } from "./falls-under-load.ts";
import type { FeedView } from "./feed-view.ts";
import type { PhaseRun } from "./phase-runs.ts";
import type { VerdictLimits } from "./verdict-limits.ts";

/** One try to bring a feed to its nominal voltage, and what became of it. */
export interface Attempt extends PhaseRun {
  /** The set-point, or, if not stated, the level it stayed at; null if neither is known. */
  aimVolts: number | null;
  /** Index of the first reading at 90 % of the aim; null never. */
  reachedAt: number | null;
  limitedMs: number;
  longestLimitedMs: number;
  /** It was in the limit when it ended, and had been for longer than charging takes or without rising any more. */
  endsLimited: boolean;
  /** Index of the reading from which the volts stayed under 80 % to the end; null where they did not. */
  endsFallenAt: number | null;
  /** Falls with the load still on, in order, the start's own left out. */
  fallsUnderLoad: FallUnderLoad[];
  /** Falls under 80 % after 90 % was reached, with the limit or a recovery to show that the output was still on. */
  falls: number;
  /** Swings between the lowest and highest tenth of the volts while limited, as a share of the aim. */
  swing: number;
  /** Times the volts rose again after a fall, both by more than a lock-out's hysteresis can hide in (`SWING_SHARE`). */
  rises: number;
  /** Least volts after reaching, or at the end where it never did, over the aim. */
  collapseRatio: number | null;
  /** Medians of the last limited readings. */
  endVolts: number;
  endAmps: number;
  limited: Uint8Array;
}

/** Readings at least this far apart, and five intervals, have a gap between them that is not counted. */
const GAP_MS = 50;

/** Of the aim: 0.36 V of 12 V, less than the hysteresis of usual lock-outs, 0.5 to 1 V (common practice, no source). */
const SWING_SHARE = 0.03;

export function attemptOf(view: FeedView, run: PhaseRun): Attempt {
  const { trace } = view;
  const aimVolts = run.setVolts ?? view.nominalVolts;
  const atMs = trace.atMs.subarray(run.from, run.to);
  const volts = trace.volts.subarray(run.from, run.to);
  const amps = trace.amps.subarray(run.from, run.to);
  const limited = limitedReadings({
    atMs,
    volts,
    amps,
    mode: trace.mode?.subarray(run.from, run.to) ?? null,
    limitAmps: view.limitAmps.subarray(run.from, run.to),
    setVolts: aimVolts === null ? null : new Float64Array(atMs.length).fill(aimVolts),
    stepAmps: view.stepAmps,
  });
  const { totalMs, longestMs } = timeInLimit(atMs, limited, Math.max(GAP_MS, 5 * (view.intervalMs ?? 0)));
  const reached = aimVolts === null ? -1 : volts.findIndex((level) => level >= view.limits.reachedShare * aimVolts);
  const held: number[] = [];
  for (let i = limited.length - 1; i >= 0 && held.length < 50; i--) if (at(limited, i) === 1) held.push(i);
  const falls =
    aimVolts === null
      ? 0
      : fallsOf({ volts, amps, limited, aim: aimVolts, quietAmps: view.quietAmps, limits: view.limits });
  const under =
    aimVolts === null || reached < 0
      ? { endsFallenAt: null, falls: [] }
      : fallsUnderLoad({
          atMs,
          volts,
          amps,
          limited,
          aimVolts,
          reached,
          fallenShare: view.limits.fallenShare,
          quietAmps: view.quietAmps,
        });
  const after = reached < 0 ? volts.subarray(-5) : volts.subarray(reached);
  const least = quantileOf(after, 0);
  const swings = aimVolts === null ? { swing: 0, rises: 0 } : swingOf(volts, limited, aimVolts);
  return {
    ...run,
    aimVolts,
    reachedAt: reached < 0 ? null : run.from + reached,
    limitedMs: totalMs,
    longestLimitedMs: longestMs,
    endsLimited: endsLimited(view, { atMs, volts, limited, totalMs, aimVolts, limitAmps: run.limitAmps }),
    endsFallenAt: under.endsFallenAt === null ? null : run.from + under.endsFallenAt,
    fallsUnderLoad: under.falls,
    falls,
    ...swings,
    collapseRatio: aimVolts === null ? null : Math.max(0, least / aimVolts),
    endVolts: medianOf(held.map((i) => at(volts, i))),
    endAmps: medianOf(held.map((i) => at(amps, i))),
    limited,
  };
}

/** The time that charging may hold the limit, milliseconds; without a known limit or aim as long as it ever may. */
function mayLimitMs(view: FeedView, volts: number | null, limitAmps: number | null): number {
  const farads = view.boardFeed?.inputFarads?.[1] ?? view.limits.mostInputFarads;
  const readIntervalMs = view.intervalMs ?? 0;
  if (volts === null || limitAmps === null) return MOST_LIMITING_MS;
  return allowedLimitingMs({ farads, volts, limitAmps, supplyRiseMs: 0, readIntervalMs });
}

function endsLimited(
  view: FeedView,
  part: {
    atMs: Float64Array;
    volts: Float64Array;
    limited: Uint8Array;
    totalMs: number;
    aimVolts: number | null;
    limitAmps: number | null;
  },
): boolean {
  const { limited, volts } = part;
  const tail = limited.subarray(-5);
  let held = 0;
  for (const flag of tail) if (flag === 1) held++;
  // A loop is out of the limit part of the time, so the last few readings need not all be in it.
  if (held === 0 || (held < tail.length / 2 && part.totalMs < 200)) return false;
  if (part.totalMs >= mayLimitMs(view, part.aimVolts, part.limitAmps)) return true;
  let from = limited.length;
  while (from > 0 && at(limited, from - 1) === 1) from--;
  const stretch = volts.subarray(from);
  if (stretch.length < 5) return false;
  const half = stretch.length >> 1;
  const rise = medianOf(stretch.subarray(half)) - medianOf(stretch.subarray(0, half));
  return rise < Math.max(0.05 * medianOf(stretch.subarray(half)), 2 * view.stepVolts);
}

function fallsOf(part: {
  volts: Float64Array;
  amps: Float64Array;
  limited: Uint8Array;
  aim: number;
  quietAmps: number;
  limits: VerdictLimits;
}): number {
  const { volts, amps, limited, aim, quietAmps, limits } = part;
  let falls = 0;
  let high = false;
  let low = false;
  let proof = false;
  for (let i = 0; i < volts.length; i++) {
    const level = at(volts, i);
    if (level >= limits.reachedShare * aim) {
      if (low) falls++;
      high = true;
      low = false;
      proof = false;
    } else if (high && level < limits.fallenShare * aim) {
      low = true;
      if (at(limited, i) === 1 || (at(limited, i) === 2 && at(amps, i) > quietAmps)) proof = true;
    }
  }
  return falls + (low && proof ? 1 : 0);
}

function swingOf(volts: Float64Array, limited: Uint8Array, aim: number): { swing: number; rises: number } {
  let [low, high] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  let rises = 0;
  let top = Number.NEGATIVE_INFINITY;
  let bottom: number | null = null;
  for (let i = 0; i < volts.length; i++) {
    const level = at(volts, i);
    if (at(limited, i) === 1) {
      low = Math.min(low, level);
      high = Math.max(high, level);
    }
    if (bottom === null) {
      top = Math.max(top, level);
      if (level < top - SWING_SHARE * aim) bottom = level;
    } else {
      bottom = Math.min(bottom, level);
      if (level > bottom + SWING_SHARE * aim) {
        rises++;
        bottom = null;
        top = level;
      }
    }
  }
  return { swing: high > low ? (high - low) / aim : 0, rises };
}
