import type { Plan, PlanFeed } from "../../../shared/plan.ts";
import { sayAmps, sayMs, sayVolts } from "../../../shared/words/amounts.ts";
import type { Finding } from "../trips/finding.ts";
import { limitingFinding } from "../trips/limiting.ts";
import { comeOn } from "./come-on.ts";
import { cutOff } from "./cut-off.ts";
import { FRESH_TRACK, summedLimitingMs } from "./feed-track.ts";
import { saidToBeOn } from "./feeds-by-hand.ts";
import type { Energised, Ledger, LiveFeed } from "./machine-state.ts";
import { feedsInOrder, plannedFeed } from "./plan-feeds.ts";
import { withQuestion } from "./questions.ts";
import { endSafe, inStage, type StepResult, stay } from "./step-result.ts";
import { nominalSetting } from "./targets.ts";
import { enterWatch } from "./watch.ts";

/** Switches the next feed of the rise on, asks for one that a person switches, or begins the watch after the last. */
export function continueRise(
  plan: Plan,
  ledger: Ledger,
  live: readonly LiveFeed[],
  index: number,
  nowMs: number,
): StepResult {
  const feed = feedsInOrder(plan)[index];
  if (feed === undefined) return enterWatch(plan, ledger, live, nowMs);
  if (feed.supply === null) return askManualOn(ledger, live, feed, index, nowMs);
  return comeOn(ledger, live, { feed, index }, nowMs);
}

function askManualOn(
  ledger: Ledger,
  live: readonly LiveFeed[],
  feed: PlanFeed,
  index: number,
  nowMs: number,
): StepResult {
  const step = { step: "ask-manual-on", feed: feed.feed, index, sinceMs: nowMs } as const;
  const [first, ...rest] = live;
  const asking = withQuestion(ledger);
  return {
    state:
      first === undefined
        ? { kind: "safe", ledger: inStage(asking, "rise"), step }
        : { kind: "energised", ledger: asking, energised: [first, ...rest], step },
    effects: [{ effect: "ask-manual", question: asking.questions, feed: feed.feed, wanted: "on" }],
  };
}

/** A person's answer about a feed they switch: on, and counted as energised, or no, and the run ends. */
export function answeredManualOn(
  plan: Plan,
  ledger: Ledger,
  live: readonly LiveFeed[],
  asked: { feed: string; index: number; yes: boolean },
  nowMs: number,
): StepResult {
  const { feed, index, yes } = asked;
  if (!yes) {
    const finding: Finding = { rule: "operator", feed, board: false, because: `${feed} was not switched on by hand` };
    const [first, ...rest] = live;
    if (first === undefined) return endSafe(ledger, finding, nowMs);
    const step = { step: "ask-manual-on", feed, index, sinceMs: nowMs } as const;
    const state: Energised = { kind: "energised", ledger, energised: [first, ...rest], step };
    // The person said that this one is off, so nobody is asked to switch it off.
    return cutOff(plan, state, finding, nowMs, saidToBeOn(state));
  }
  const planned = plannedFeed(plan, feed);
  const setting =
    planned === undefined ? { volts: 0, limitAmps: 0, overVolts: 0, maxMs: 0 } : nominalSetting(ledger, planned);
  const byHand: LiveFeed = {
    feed,
    manual: true,
    setting,
    askedMs: nowMs,
    onMs: nowMs,
    leaving: false,
    track: FRESH_TRACK,
  };
  return continueRise(
    plan,
    { ...ledger, nominalSinceMs: ledger.nominalSinceMs ?? nowMs },
    [byHand, ...live],
    index + 1,
    nowMs,
  );
}

const READINGS = 2;
const REACHED = 0.9;

/** Whether a feed is up: the last two readings at 90 % of nominal or more and out of the limit. */
const isUp = (live: LiveFeed): boolean => {
  const newest = live.track.recent.slice(-READINGS);
  return (
    newest.length === READINGS && newest.every((each) => !each.limiting && each.volts >= REACHED * live.setting.volts)
  );
};

/** Waits for a feed to come up; past its time it is cut, as limiting or as volts that never came. */
export function advanceClimb(plan: Plan, state: Energised, feed: PlanFeed, live: LiveFeed, nowMs: number): StepResult {
  const { step } = state;
  if (step.step !== "climb") return stay(state);
  if (isUp(live)) return continueRise(plan, state.ledger, state.energised, step.target.index + 1, nowMs);
  if (nowMs - step.sinceMs <= live.setting.maxMs) return stay(state);
  return cutOff(plan, state, notUp(feed, live, nowMs), nowMs);
}

function notUp(feed: PlanFeed, live: LiveFeed, nowMs: number): Finding {
  const { last } = live.track;
  if (last === null) {
    return {
      rule: "stale",
      feed: live.feed,
      board: false,
      because: `${live.feed} gave no reading within ${sayMs(live.setting.maxMs)} of switching it on`,
    };
  }
  if (last.limiting) {
    return limitingFinding(live, feed, {
      stage: "rise",
      nowMs,
      summedMs: summedLimitingMs(feed, live.track, nowMs),
      allowedMs: feed.allowedLimitingMs,
    });
  }
  return {
    rule: "collapse",
    feed: live.feed,
    board: last.amps >= 0.5 * live.setting.limitAmps,
    because: `${live.feed} did not come up within ${sayMs(live.setting.maxMs)}: ${sayVolts(last.volts)} of ${sayVolts(live.setting.volts)} at ${sayAmps(last.amps)}`,
  };
}
