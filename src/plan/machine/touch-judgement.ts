import type { Plan, PlanFeed } from "../../../shared/plan.ts";
import { chargeMs } from "../../analysis/allowed-limiting.ts";
import { MOST_TOUCH_MS } from "../compile/feed-settings.ts";
import { type FeedTrack, type Sample, stepAmpsOf, stepAmpsSeen, stepVoltsOf } from "./feed-track.ts";
import { leadOhmsIn } from "./lead-drop.ts";
import type { LiveFeed } from "./machine-state.ts";

/** The values that a look below 1 V settled at. */
export interface LookResult {
  volts: number;
  amps: number;
  limited: boolean;
  /** Behind the leads where they are known; null: more than the meter can see. */
  ohms: number | null;
  /** The supply stands at its set-point, or is held by its limit: the look says something of the board. */
  delivered: boolean;
}

/** A cut takes this long from the reading that asks for it, milliseconds; counted into the energy budget. */
const CUT_MS = 30;

/** Smallest current that counts, amps: three read-back steps as its readings show them, or the supply's own offset. */
export const leastAmpsSeen = (feed: PlanFeed, track: FeedTrack): number =>
  Math.max(3 * stepAmpsSeen(feed, track), feed.offsetAmps ?? 0);

/** Shorts of less than this are seen at the touch's volts, ohms. */
export const seesShortsBelowOhms = (feed: PlanFeed, track: FeedTrack): number =>
  feed.touch.volts / leastAmpsSeen(feed, track);

/**
 * Whether a look may be judged now, and on which samples. It waits for the supply's rise and the charge of the input
 * capacitors, since 5 mF at 0.2 A look like a short for 22 ms; then for three readings that agree (two in a second look).
 * At the look's longest time, or before its energy is spent, it is judged on what there is; volts that still climb in the
 * limit are a capacitor and get up to 1.5 s.
 */
export function samplesToJudge(
  plan: Plan,
  feed: PlanFeed,
  live: LiveFeed,
  look: { sinceMs: number; first: boolean; nowMs: number },
): { samples: readonly Sample[]; final: boolean } | "wait" | "not-read" {
  const { track, setting } = live;
  const settledMs = look.sinceMs + settleMs(feed, live, look.first);
  const usable = track.recent.filter((each) => each.queriedAtMs >= settledMs);
  const wanted = look.first ? 3 : 2;
  const newest = usable.slice(-wanted);
  if (spentSoon(plan, feed, live) && track.last !== null)
    return { samples: newest.length > 0 ? newest : [track.last], final: true };
  if (look.nowMs - live.askedMs >= MOST_TOUCH_MS)
    return track.last === null ? "not-read" : { samples: newest.length > 0 ? newest : [track.last], final: true };
  if (newest.length === wanted && agree(feed, newest)) return { samples: newest, final: false };
  const longestMs = look.first ? setting.maxMs : 2 * feed.readIntervalMs + 100;
  if (look.nowMs - look.sinceMs < longestMs || newest.length === 0 || stillCharges(feed, track.recent)) return "wait";
  return { samples: newest, final: true };
}

function settleMs(feed: PlanFeed, live: LiveFeed, first: boolean): number {
  if (!first) return feed.readIntervalMs + 10;
  const charge = chargeMs({
    farads: feed.inputFaradsMax,
    volts: live.setting.volts,
    limitAmps: live.setting.limitAmps,
  });
  return Math.min(live.setting.maxMs / 2, charge + Math.min(feed.supplyRiseMs, 100)) + feed.readIntervalMs;
}

/**
 * The budget would be over before the next reading could stop it. `nextAmps` is a limit on its way to the supply: it may be
 * in force already, and volts rise at most as the amps do.
 */
export function spentSoon(plan: Plan, feed: PlanFeed, live: LiveFeed, nextAmps = 0): boolean {
  const { last, joules } = live.track;
  if (last === null) return false;
  const raise = last.amps > 0 ? Math.max(1, nextAmps / last.amps) : 1;
  const watts = Math.max(0, Math.min(live.setting.volts, last.volts * raise) * last.amps * raise);
  // Between two readings of a slow supply there may be as many questions about its setting.
  return joules + (watts * ((nextAmps > 0 ? 2 : 1) * feed.readIntervalMs + CUT_MS)) / 1000 > plan.trips.touchJoules;
}

function agree(feed: PlanFeed, samples: readonly Sample[]): boolean {
  const spread = (of: (sample: Sample) => number): number =>
    Math.max(...samples.map(of)) - Math.min(...samples.map(of));
  const last = samples.at(-1);
  if (last === undefined) return false;
  const voltsApart = Math.max(3 * stepVoltsOf(feed), 0.01, 0.02 * Math.abs(last.volts));
  const ampsApart = Math.max(3 * stepAmpsOf(feed), 0.002, feed.offsetAmps ?? 0, 0.03 * Math.abs(last.amps));
  return spread((each) => each.volts) <= voltsApart && spread((each) => each.amps) <= ampsApart;
}

function stillCharges(feed: PlanFeed, samples: readonly Sample[]): boolean {
  const [before, last] = samples.slice(-2);
  if (before === undefined || last === undefined || !last.limiting) return false;
  return last.volts - before.volts > Math.max(3 * stepVoltsOf(feed), 0.01);
}

/** The look's result from the samples it is judged on; an empty list is a look that saw nothing. */
export function lookResult(feed: PlanFeed, live: LiveFeed, samples: readonly Sample[]): LookResult {
  const mean = (of: (sample: Sample) => number): number =>
    samples.reduce((sum, each) => sum + of(each), 0) / Math.max(1, samples.length);
  const volts = mean((each) => each.volts);
  const amps = mean((each) => each.amps);
  const limited = samples.at(-1)?.limiting ?? false;
  const atSet = volts >= 0.85 * live.setting.volts - 2 * stepVoltsOf(feed);
  const drawn = amps > leastAmpsSeen(feed, live.track);
  return {
    volts,
    amps,
    limited,
    ohms: drawn ? Math.max(0, volts / amps - leadOhmsIn(feed)) : null,
    delivered: atSet || limited || drawn,
  };
}
