import type { Plan, PlanFeed } from "../../../shared/plan.ts";
import { sayAmps, sayMs, sayOhms, sayVolts } from "../../../shared/words/amounts.ts";
import { allowedHoldMs } from "../compile/hold-budget.ts";
import type { Finding } from "../trips/finding.ts";
import { limitingFinding } from "../trips/limiting.ts";
import { cutOff } from "./cut-off.ts";
import { type Sample, summedLimitingMs } from "./feed-track.ts";
import type { Energised, LiveFeed } from "./machine-state.ts";
import { othersWereRead } from "./others-read.ts";
import { type StepResult, stay } from "./step-result.ts";
import { leave } from "./switch-off.ts";
import { leastAmpsSeen } from "./touch-judgement.ts";

const READINGS = 2;
const REACHED = 0.9;

/** Linear regulators and LEDs may conduct this much where the board file does not say more (common practice, no source). */
const USUAL_AMPS = 0.03;
/** Ohms of a chip's input depend on the volts of the meter: what conducts up to twice as well as it read cold is the same path. */
const COLD_SHARE = 2;

/**
 * The hold below lock-out: held for its whole time, then clean when the feed stands at its set-point out of the limit, no
 * other feed shows volts, and it conducts no more than its cold ohms or the board file explain.
 */
export function advanceHold(plan: Plan, state: Energised, feed: PlanFeed, live: LiveFeed, nowMs: number): StepResult {
  const { step } = state;
  if (step.step !== "hold") return stay(state);
  const newest = live.track.recent.filter((each) => each.queriedAtMs >= step.sinceMs).slice(-READINGS);
  const good = newest.filter((each) => !each.limiting && each.volts >= REACHED * live.setting.volts);
  const heldMs = nowMs - step.sinceMs;
  // A slow meter gets its two readings, but never more than three times the hold.
  const mostMs =
    newest.length === 0
      ? Math.min(3 * live.setting.maxMs, Math.max(live.setting.maxMs, 2 * feed.readIntervalMs))
      : live.setting.maxMs;
  const over = heldMs >= mostMs;
  const clean = good.length === newest.length && newest.length > 0;
  if (!over) return stay(state);
  const last = live.track.last;
  const settled = last !== null && !last.limiting && last.volts >= REACHED * live.setting.volts;
  if (newest.length > 0 && (clean || settled)) {
    const path = pathFound(feed, live, newest);
    if (path !== null) return cutOff(plan, state, path, nowMs);
    // Another feed that shows volts is back-feed; it gets as long again to be read.
    const waits = clean && !othersWereRead(state, step.sinceMs) && heldMs < 2 * mostMs;
    return waits ? stay(state) : leave(state, live.feed, step.target, nowMs);
  }
  if (last === null || newest.length === 0) {
    return cutOff(
      plan,
      state,
      {
        rule: "stale",
        feed: live.feed,
        board: false,
        because: `${live.feed} was not read within ${sayMs(heldMs)} at ${sayVolts(live.setting.volts)}`,
      },
      nowMs,
    );
  }
  if (last.limiting) {
    return cutOff(
      plan,
      state,
      limitingFinding(live, feed, {
        stage: "hold-low",
        nowMs,
        summedMs: summedLimitingMs(feed, live.track, nowMs),
        allowedMs: allowedHoldMs(feed),
      }),
      nowMs,
    );
  }
  return cutOff(
    plan,
    state,
    {
      rule: "collapse",
      feed: live.feed,
      board: last.amps >= 0.5 * live.setting.limitAmps,
      because: `${live.feed} shows ${sayVolts(last.volts)} of ${sayVolts(live.setting.volts)} after ${sayMs(heldMs)} at ${sayAmps(last.amps)}`,
    },
    nowMs,
  );
}

/** A current that neither the cold ohms, nor what such boards conduct, nor the meter's step explains; null where there is none. */
function pathFound(feed: PlanFeed, live: LiveFeed, samples: readonly Sample[]): Finding | null {
  const amps = samples.reduce((sum, each) => sum + each.amps, 0) / Math.max(1, samples.length);
  const volts = live.setting.volts;
  const cold = feed.coldOhms === null ? 0 : volts / feed.coldOhms;
  const usual = feed.holdLowMostAmps ?? USUAL_AMPS;
  if (amps <= Math.max(usual, COLD_SHARE * cold) + leastAmpsSeen(feed, live.track)) return null;
  const explained =
    feed.coldOhms === null ? "its cold ohms were not measured" : `its cold ohms explain ${sayAmps(cold)}`;
  return {
    rule: "partial-short",
    feed: live.feed,
    board: true,
    because: `${live.feed} draws ${sayAmps(amps)} at ${sayVolts(volts)}, ${sayOhms(volts / amps)}; ${explained}. A good board draws at most ${sayAmps(usual)} there. Possible causes: a clamp, a linear regulator into a short, or a diode path. If good boards of this kind draw that much, enter it as holdLowAmps in the board file`,
  };
}
