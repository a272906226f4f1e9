import { sayAmps, sayMs, sayVolts } from "../../../shared/amounts.ts";
import type { Plan, PlanFeed } from "../../../shared/plan.ts";
import { allowedHoldMs } from "../compile/hold-budget.ts";
import { limitingFinding } from "../trips/limiting.ts";
import { cutOff } from "./cut-off.ts";
import { summedLimitingMs } from "./feed-track.ts";
import type { Energised, LiveFeed } from "./machine-state.ts";
import { othersWereRead } from "./others-read.ts";
import { type StepResult, stay } from "./step-result.ts";
import { leave } from "./switch-off.ts";

const READINGS = 2;
const REACHED = 0.9;

/**
 * The hold below lock-out: clean when the feed stands at its set-point out of the limit and no other feed shows volts.
 * Linear regulators and LEDs may conduct, so a current under the limit is no fault here.
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
  if (clean && ((newest.length === READINGS && othersWereRead(state, step.sinceMs)) || over))
    return leave(state, live.feed, step.target, nowMs);
  if (!over) return stay(state);
  const last = live.track.last;
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
  if (last.volts >= REACHED * live.setting.volts) return leave(state, live.feed, step.target, nowMs);
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
