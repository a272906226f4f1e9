import type { Plan, PlanFeed } from "../../../shared/plan.ts";
import type { LiveFeed, Sample, TouchFinding, TwoLimitTest } from "../machine-state.ts";
import { amps, type Tripped, volts } from "../trips/trip-rule.ts";

export type TouchJudgement =
  /** Look on. */
  | { say: "wait" }
  /** Look again at this limit: the first was limited, and a second tells ohmic from junction. */
  | { say: "second-limit"; limitAmps: number; first: { volts: number; amps: number } }
  | { say: "clean"; finding: TouchFinding }
  | { say: "stop"; tripped: Tripped };

const mean = (values: readonly number[]): number => values.reduce((sum, each) => sum + each, 0) / values.length;

/** Three readings that agree within noise: 3 steps or 3 % of the value, whichever is more. */
function settled(look: readonly Sample[], feed: PlanFeed): { volts: number; amps: number; limited: boolean } | undefined {
  const three = look.slice(-3);
  if (three.length < 3) return undefined;
  const spread = (values: number[], step: number) =>
    Math.max(...values) - Math.min(...values) <= Math.max(3 * step, 0.03 * Math.max(...values.map(Math.abs)));
  const v = three.map((each) => each.volts);
  const a = three.map((each) => each.amps);
  if (!spread(v, feed.stepVolts ?? 0.001) || !spread(a, feed.stepAmps ?? 0.001)) return undefined;
  return { volts: mean(v), amps: mean(a), limited: three.every((each) => each.limiting) };
}

/** Time in which the input capacitors may still be charging at this stage's limit: 1.5·C·V/I and the supply's own rise. */
const chargingMs = (feed: PlanFeed, live: LiveFeed): number =>
  1500 * ((feed.inputFaradsMax * live.setVolts) / live.limitAmps) + feed.supplyRiseMs;

/** Volts at the board: less the drop of the leads where they are known and the supply reads at its own terminals. */
export function boardVolts(feed: PlanFeed, read: { volts: number; amps: number }): number {
  if (feed.leadOhms === null || feed.readsAtSense === true) return read.volts;
  return Math.max(0, read.volts - read.amps * feed.leadOhms);
}

/** The smallest current that is told from none: three steps, or the read-back's own offset. */
const leastAmps = (feed: PlanFeed): number => Math.max(3 * (feed.stepAmps ?? 0.001), feed.offsetAmps ?? 0);

/**
 * Judges a touch from its readings so far: by lead-corrected resistance, under 0.5 Ω a dead short, up to 100 Ω a partial
 * one, up to 1 kΩ only where the cold reading agrees, above that clean. Waits until three readings agree, at most the
 * stage's time; never into the energy budget.
 */
export function judgeTouch(options: {
  plan: Plan;
  feed: PlanFeed;
  live: LiveFeed;
  test: TwoLimitTest | null;
  nowMs: number;
}): TouchJudgement {
  const { plan, feed, live, test, nowMs } = options;
  const onAtMs = live.onAtMs;
  if (onAtMs === null) return { say: "wait" };
  const elapsedMs = nowMs - onAtMs;
  const look = live.look.filter((each) => each.queriedAtMs >= onAtMs);
  const isLate = elapsedMs >= feed.touch.maxMs || live.joules > 0.6 * plan.trips.touchJoules;
  const steady = settled(look.filter((each) => each.queriedAtMs >= onAtMs + Math.min(chargingMs(feed, live), feed.touch.maxMs)), feed);
  const last = look.at(-1);
  if (steady === undefined && (!isLate || last === undefined)) {
    // A supply too slow for three readings in the stage's time is given 1.5 s in all, never more.
    if (elapsedMs < 1500) return { say: "wait" };
    return stop(live, "partial-short", `the touch of ${live.feed} did not settle within 1.5 s`);
  }
  const found = steady ?? { volts: last?.volts ?? 0, amps: last?.amps ?? 0, limited: last?.limiting ?? false };
  return judge({ plan, feed, live, test, found, isLate });
}

const stop = (live: LiveFeed, rule: Tripped["rule"], because: string): TouchJudgement => ({
  say: "stop",
  tripped: { rule, board: true, because: `${because} (${live.joules.toFixed(4)} J in)` },
});

function judge(options: {
  plan: Plan;
  feed: PlanFeed;
  live: LiveFeed;
  test: TwoLimitTest | null;
  found: { volts: number; amps: number; limited: boolean };
  isLate: boolean;
}): TouchJudgement {
  const { plan, feed, live, test, found } = options;
  const { shortOhms, partialShortOhms, doubtfulOhms } = plan.trips;
  const least = leastAmps(feed);
  const sees = live.setVolts / least;
  const finding = (ohms: number | null): TouchJudgement => ({
    say: "clean",
    finding: { ohms, seesShortsBelowOhms: sees, joules: live.joules },
  });
  if (found.amps <= least && !found.limited) return finding(null);
  const ohms = boardVolts(feed, found) / Math.max(found.amps, least / 3);
  const lead = feed.leadOhms === null ? "leads not known" : `less ${feed.leadOhms} Ω of leads`;
  const reads = `${live.feed} draws ${amps(found.amps)} at ${volts(found.volts)}: ${ohms.toFixed(ohms < 10 ? 2 : 0)} Ω (${lead})`;
  if (ohms < partialShortOhms || found.limited) {
    const [low, high] = feed.twoLimitAmps;
    const budgetLeft = plan.trips.touchJoules - live.joules;
    // The second look may take three readings at the higher limit; what it would put in must fit the budget.
    const cost = ((high * high * Math.max(ohms, 0.01) * Math.max(3.5 * feed.readIntervalMs, 60)) / 1000) * 1.2;
    if (found.limited && test === null && high > low && cost < budgetLeft) {
      return { say: "second-limit", limitAmps: high, first: { volts: found.volts, amps: found.amps } };
    }
    const first = test?.first ?? null;
    if (first !== null && first.volts > 0.25 && found.amps > 1.15 * first.amps) {
      const ratio = found.volts / first.volts;
      const wanted = found.amps / first.amps;
      if (ratio < 1 + 0.4 * (wanted - 1)) {
        return stop(
          live,
          "junction",
          `${live.feed} holds ${volts(first.volts)} at ${amps(first.amps)} and ${volts(found.volts)} at ${amps(found.amps)}: a junction, no resistance. Check the polarity of the leads at the card end first`,
        );
      }
    }
    const polarity = found.limited && found.volts >= 0.3 && found.volts <= 0.9 ? ". Check the polarity of the leads first" : "";
    if (ohms < shortOhms) return stop(live, "dead-short", `${reads}, a dead short${polarity}`);
    return stop(live, "partial-short", `${reads}, a partial short${polarity}`);
  }
  if (ohms < doubtfulOhms) {
    const cold = feed.coldOhms;
    // Chips are not linear: the meter's ohms and this one agree when within a factor of three (common practice, no source).
    if (cold !== null && ohms > cold / 3 && ohms < cold * 3) return finding(ohms);
    const why = cold === null ? "there is no cold reading to agree with it" : `the cold reading is ${cold} Ω`;
    return stop(live, "partial-short", `${reads}; between ${partialShortOhms} Ω and ${doubtfulOhms} Ω it goes on only if the cold ohms agree, and ${why}`);
  }
  return finding(ohms);
}
