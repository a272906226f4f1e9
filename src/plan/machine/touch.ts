import type { Plan, PlanEvent, PlanFeed } from "../../../shared/plan.ts";
import { sayAmps, sayJoules, sayMs, sayOhms, sayVolts } from "../../../shared/words/amounts.ts";
import { MOST_TOUCH_MS } from "../compile/feed-settings.ts";
import { deadShort, type ShortSeen } from "../trips/dead-short.ts";
import type { Finding } from "../trips/finding.ts";
import { junction, twoLimitTest } from "../trips/junction.ts";
import { partialShort } from "../trips/partial-short.ts";
import { commandFailed } from "./command-failed.ts";
import { cutOff } from "./cut-off.ts";
import { leadsKnown } from "./lead-drop.ts";
import type { Energised, LiveFeed, LookPoint } from "./machine-state.ts";
import { othersWereRead } from "./others-read.ts";
import { echoDiffers } from "./setting-echo.ts";
import { type StepResult, stay } from "./step-result.ts";
import { leave } from "./switch-off.ts";
import { type LookResult, lookResult, samplesToJudge, seesShortsBelowOhms, spentSoon } from "./touch-judgement.ts";

/** The look below 1 V: judges it when it may be judged, then on to the next feed, to another limit, or the cut. */
export function advanceLook(plan: Plan, state: Energised, feed: PlanFeed, live: LiveFeed, nowMs: number): StepResult {
  const { step } = state;
  if (step.step !== "look") return stay(state);
  const first = step.points.length === 0;
  const ready = samplesToJudge(plan, feed, live, { sinceMs: step.sinceMs, first, nowMs });
  if (ready === "wait") return stay(state);
  if (ready === "not-read") return cutOff(plan, state, notRead(live, nowMs), nowMs);
  const result = lookResult(feed, live, ready.samples);
  if (!first) return nextLook(plan, state, feed, live, [...step.points, result], step.rest, nowMs);
  // Three readings that agree are not enough while another feed was not looked at.
  const verdict = judge(plan, feed, live, result);
  if (verdict === "clean" && !ready.final && !othersWereRead(state, step.sinceMs)) return stay(state);
  if (verdict === "clean")
    return leave(
      {
        ...state,
        ledger: { ...state.ledger, touched: { ...state.ledger.touched, [live.feed]: finding(feed, live, result) } },
      },
      live.feed,
      step.target,
      nowMs,
    );
  if (verdict !== "two-limits") return cutOff(plan, state, verdict, nowMs);
  const [low, high] = feed.twoLimitAmps;
  const isLow = Math.abs(live.setting.limitAmps - low) < 0.05 * low;
  return nextLook(plan, state, feed, live, [result], isLow ? [high] : [low, high], nowMs);
}

const finding = (feed: PlanFeed, live: LiveFeed, result: LookResult) => ({
  ohms: result.ohms,
  seesShortsBelowOhms: seesShortsBelowOhms(feed, live.track),
  joules: live.track.joules,
});

/** The meaning of the first look: clean, a short, or held by the limit and worth a second look. */
function judge(plan: Plan, feed: PlanFeed, live: LiveFeed, result: LookResult): "clean" | "two-limits" | Finding {
  const { shortOhms, partialShortOhms, doubtfulOhms } = plan.trips;
  const { ohms, limited, delivered } = result;
  if (!delivered) return notDelivered(live, result);
  if (ohms === null || ohms >= doubtfulOhms) return "clean";
  const seen = seenShort(feed, live, result, ohms);
  if (ohms < shortOhms) return deadShort(seen);
  if (ohms < partialShortOhms) return limited ? "two-limits" : partialShort(seen, null, "");
  // In between, only a cold reading that says the same lets it pass.
  if (feed.coldOhms !== null && ohms >= feed.coldOhms / 2) return "clean";
  const cold =
    feed.coldOhms === null ? "no cold reading supports that" : `the cold reading was ${sayOhms(feed.coldOhms)}`;
  return partialShort(seen, null, `it conducts better than a healthy input, and ${cold}`);
}

/** The next look of the two-limit test, or the finding where there is none left that the time and the energy allow. */
function nextLook(
  plan: Plan,
  state: Energised,
  feed: PlanFeed,
  live: LiveFeed,
  points: readonly LookPoint[],
  rest: readonly number[],
  nowMs: number,
): StepResult {
  const { step } = state;
  if (step.step !== "look" && step.step !== "relimit") return stay(state);
  const fitting = rest.findIndex((amps) => fits(plan, feed, live, points.at(-1), amps, nowMs));
  const limitAmps = rest[fitting];
  if (limitAmps === undefined) return cutOff(plan, state, conclusion(feed, live, points, rest.length > 0), nowMs);
  const setting = { ...feed.touch, limitAmps: Math.min(limitAmps, feed.limitAmps) };
  return {
    state: {
      ...state,
      step: {
        step: "relimit",
        feed: live.feed,
        target: step.target,
        sinceMs: nowMs,
        setting,
        points,
        rest: rest.slice(fitting + 1),
      },
    },
    effects: [{ effect: "configure", feed: live.feed, setting, overCurrentOn: false }],
  };
}

/** Whether another look at `amps` stays inside the energy and the time of a touch. */
function fits(
  plan: Plan,
  feed: PlanFeed,
  live: LiveFeed,
  before: LookPoint | undefined,
  amps: number,
  nowMs: number,
): boolean {
  const lookMs = 4 * feed.readIntervalMs + 60;
  const volts =
    before === undefined || before.amps <= 0
      ? feed.touch.volts
      : Math.min(feed.touch.volts, (before.volts * amps) / before.amps);
  const enoughEnergy = live.track.joules + (volts * amps * lookMs) / 1000 <= plan.trips.touchJoules;
  return enoughEnergy && nowMs - live.askedMs + lookMs <= MOST_TOUCH_MS;
}

function conclusion(feed: PlanFeed, live: LiveFeed, points: readonly LookPoint[], leftOut: boolean): Finding {
  const byAmps = [...points].sort((a, b) => a.amps - b.amps);
  const [low, high] = [byAmps[0], byAmps.at(-1)];
  const shown = points[0] ?? { volts: 0, amps: 0, limited: true };
  const result = lookResult(feed, live, []);
  const seen = seenShort(
    feed,
    live,
    { ...result, ...shown },
    shown.amps > 0 ? Math.max(0, shown.volts / shown.amps - (feed.leadOhms ?? 0)) : 0,
  );
  const kind = low === undefined || high === undefined || low === high ? null : twoLimitTest(low, high);
  if (kind === "junction" && low !== undefined && high !== undefined) return junction(seen, low, high);
  const note =
    kind !== null
      ? ""
      : leftOut
        ? "the two-limit test was left out, because it would put too much energy into the board"
        : "the two-limit test did not tell whether it is a resistor or a junction";
  return partialShort(seen, kind === "ohmic" ? "ohmic" : null, note);
}

const seenShort = (feed: PlanFeed, live: LiveFeed, result: LookResult, ohms: number): ShortSeen => ({
  feed: live.feed,
  volts: result.volts,
  amps: result.amps,
  ohms,
  leadsKnown: leadsKnown(feed),
  limited: result.limited,
  joules: live.track.joules,
});

const notDelivered = (live: LiveFeed, { volts, amps }: LookResult): Finding => ({
  rule: "collapse",
  feed: live.feed,
  board: false,
  because: `${live.feed} shows ${sayVolts(volts)} although ${sayVolts(live.setting.volts)} was set, and draws only ${sayAmps(amps)}: the supply does not deliver, or its sense leads are open`,
});

const notRead = (live: LiveFeed, nowMs: number): Finding => ({
  rule: "stale",
  feed: live.feed,
  board: false,
  because: `${live.feed} was not read within ${sayMs(nowMs - live.askedMs)} of switching it on`,
});

/** Waits for the second limit to be read back, with the output on. Null: this event was not decided here. */
export function advanceRelimit(
  plan: Plan,
  state: Energised,
  event: PlanEvent,
  feed: PlanFeed,
  live: LiveFeed,
  nowMs: number,
): StepResult | null {
  const { step } = state;
  if (step.step !== "relimit") return null;
  if (event.event === "reading" || event.event === "tick") {
    const isSpent = spentSoon(plan, feed, live, step.setting.limitAmps);
    return isSpent || nowMs - live.askedMs >= MOST_TOUCH_MS
      ? cutOff(plan, state, conclusion(feed, live, step.points, true), nowMs)
      : stay(state);
  }
  if (event.event !== "configured" || event.feed !== step.feed) return null;
  const differs = echoDiffers(feed, step.setting, event);
  if (differs !== null) {
    const because = `${step.feed} did not accept its setting: ${differs}; the board had taken ${sayJoules(live.track.joules)}`;
    return cutOff(plan, state, commandFailed(step.feed, because), nowMs);
  }
  const [first, ...rest] = state.energised.map((each) =>
    each.feed === step.feed ? { ...each, setting: step.setting, track: { ...each.track, recent: [] } } : each,
  );
  if (first === undefined) return null;
  return stay({
    ...state,
    energised: [first, ...rest],
    step: { step: "look", feed: step.feed, target: step.target, sinceMs: nowMs, points: step.points, rest: step.rest },
  });
}
