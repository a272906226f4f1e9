import type { PlanFeed } from "../../../shared/plan.ts";
import type { LiveFeed } from "../machine-state.ts";
import { amps, type Tripped, volts } from "../trips/trip-rule.ts";

export type HoldLowJudgement = { say: "wait" } | { say: "clean" } | { say: "stop"; tripped: Tripped };

/**
 * Judges the hold below lock-out: at its end, or as soon as three readings out of the limit agree, it is clean; still
 * limited when its time is up, it is not. Linear regulators and LEDs may conduct, so a draw under the limit is no fault.
 */
export function judgeHoldLow(options: { feed: PlanFeed; live: LiveFeed; nowMs: number }): HoldLowJudgement {
  const { feed, live, nowMs } = options;
  const onAtMs = live.onAtMs;
  const setting = feed.holdLow;
  if (onAtMs === null || setting === null) return { say: "wait" };
  const look = live.look.filter((each) => each.queriedAtMs >= onAtMs);
  const three = look.slice(-3);
  const elapsedMs = nowMs - onAtMs;
  const isUp = (each: { volts: number; limiting: boolean }) => !each.limiting && each.volts >= 0.9 * setting.volts;
  const spread = Math.max(...three.map((each) => each.amps)) - Math.min(...three.map((each) => each.amps));
  const agree = spread <= Math.max(3 * (feed.stepAmps ?? 0.001), 0.1 * Math.max(...three.map((each) => each.amps)));
  if (three.length === 3 && three.every(isUp) && (agree || elapsedMs >= setting.maxMs)) return { say: "clean" };
  // A supply too slow for three readings in 500 ms is given the time they take.
  if (elapsedMs < Math.max(setting.maxMs, 4 * feed.readIntervalMs)) return { say: "wait" };
  const last = look.at(-1);
  if (last === undefined) return elapsedMs < 1500 ? { say: "wait" } : { say: "stop", tripped: notRead(live) };
  if (isUp(last)) return { say: "clean" };
  return {
    say: "stop",
    tripped: {
      rule: "partial-short",
      board: true,
      because: `${live.feed} draws ${amps(last.amps)} at ${volts(last.volts)} of ${volts(setting.volts)}, below the lock-out of its converters: something conducts that should not`,
    },
  };
}

const notRead = (live: LiveFeed): Tripped => ({ rule: "stale", board: false, because: `no reading of ${live.feed} came in the whole hold` });
