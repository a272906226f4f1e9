import type { Plan, PlanEffect, PlanEvent, PlanFeed, StageSetting, Trip } from "../../shared/plan.ts";
import { type FeedReading, voltsOf } from "../../shared/reading.ts";
import { nextRaise } from "./ladder.ts";
import { sampleOf } from "./limiting.ts";
import { heard, newLiveFeed } from "./live-feed.ts";
import {
  type Energised,
  type EnergisedState,
  isEnergised,
  isManual,
  type LiveFeed,
  type PlanState,
  type Progress,
  type TwoLimitTest,
} from "./machine-state.ts";
import { judgeHoldLow } from "./stages/judge-hold-low.ts";
import { hasRisen } from "./stages/judge-rise.ts";
import { judgeTouch } from "./stages/judge-touch.ts";
import { FEED_TRIPS } from "./trips/feed-trips.ts";
import { stale } from "./trips/stale.ts";
import { type Tripped, volts } from "./trips/trip-rule.ts";

export interface Advanced {
  state: PlanState;
  effects: PlanEffect[];
}

/** Time allowed for a setting, an output or a cut to be answered; the runner has shorter deadlines of its own. */
const ANSWER_MS = 8000;
/** Time allowed for what is left on a feed to run down before the first touch. */
const RESIDUAL_MS = 5000;

const stay = (state: PlanState): Advanced => ({ state, effects: [] });

/**
 * The power-up machine: what the next state is and what to do about it. Pure, total, without a clock: time is in the
 * events. Any event that no cell decides while current may flow cuts the output.
 */
export function advance(plan: Plan, state: PlanState, event: PlanEvent): Advanced {
  if (state.at === "ended") return stay(state);
  const common = isEnergised(state) ? whileEnergised(plan, state, event) : whileOff(plan, state, event);
  return common ?? inState(plan, state, event);
}

/** Events that mean the same in every state where nothing is on. */
function whileOff(plan: Plan, state: Exclude<PlanState, EnergisedState>, event: PlanEvent): Advanced | undefined {
  switch (event.event) {
    case "stop":
      return end(state.progress, tripOf(state.progress, event.atMs, null, { rule: "operator", board: false, because: `stopped by ${event.by}` }), "person");
    case "link-lost":
    case "silent":
      return end(state.progress, tripOf(state.progress, event.atMs, null, { rule: event.event === "silent" ? "silent" : "link-lost", board: false, because: `${event.instrument}: ${event.because}` }), "trip");
    case "failed":
      return end(state.progress, tripOf(state.progress, event.atMs, event.feed, { rule: "command-failed", board: false, because: event.because }), "trip");
    case "refused":
      return end(state.progress, tripOf(state.progress, event.atMs, event.feed, { rule: "command-failed", board: false, because: `${event.because}; nothing was energised` }), "trip");
    case "lease-lost":
    case "guardian-lost":
      return end(state.progress, tripOf(state.progress, event.atMs, null, { rule: event.event, board: false, because: event.because }), "trip");
    case "reading":
      return state.at === "residual" ? undefined : { state: { ...state, progress: noteOff(plan, state.progress, event.reading) }, effects: [] };
    case "protection":
    case "front-panel":
      return end(state.progress, tripOf(state.progress, event.atMs, event.feed, panelTrip(event)), "trip");
    case "clock-gap":
    case "cut-done":
      return stay(state);
    default:
      return undefined;
  }
}

const panelTrip = (event: Extract<PlanEvent, { event: "protection" | "front-panel" }>): Tripped =>
  event.event === "protection"
    ? { rule: "protection", board: true, because: `the supply's own ${event.which} protection acted on ${event.feed}` }
    : { rule: "front-panel", board: false, because: event.because };

/** Events that cut in every state where current may flow, whatever is being waited for. */
function whileEnergised(plan: Plan, state: EnergisedState, event: PlanEvent): Advanced | undefined {
  if (state.at === "cutting") return undefined;
  const trip = (feed: string | null, tripped: Tripped): Advanced => cut(state, tripOf(state.progress, event.atMs, feed, tripped));
  switch (event.event) {
    case "stop":
      return trip(null, { rule: "operator", board: false, because: `stopped by ${event.by}` });
    case "link-lost":
      return trip(null, { rule: "link-lost", board: false, because: `${event.instrument}: ${event.because}` });
    case "silent":
      return trip(null, { rule: "silent", board: false, because: `${event.instrument}: ${event.because}` });
    case "failed":
      return trip(event.feed, { rule: "command-failed", board: false, because: event.because });
    case "refused":
      return trip(event.feed, { rule: "command-failed", board: false, because: event.because });
    case "protection":
    case "front-panel":
      return trip(event.feed, panelTrip(event));
    case "lease-lost":
    case "guardian-lost":
      return trip(null, { rule: event.event, board: false, because: event.because });
    case "clock-gap":
      return trip(null, { rule: "clock-gap", board: false, because: `this computer stood still for ${(event.gapMs / 1000).toFixed(1)} s` });
    case "reading":
      return readingTrip(plan, state, event.reading, event.atMs);
    case "tick":
      return tickTrip(plan, state, event.atMs);
    case "configured":
      return state.at === "setting-live" ? undefined : trip(event.feed, unexpected(event));
    case "output":
      return state.at === "switching-on" || state.at === "switching-off" ? undefined : trip(event.feed, unexpected(event));
    case "answered":
      return state.at === "asking-live" ? undefined : trip(null, unexpected(event));
    case "begin":
    case "cut-done":
      return trip(null, unexpected(event));
    default:
      return trip(null, unexpected(event));
  }
}

const unexpected = (event: PlanEvent): Tripped => ({
  rule: "unexpected",
  board: false,
  because: `${JSON.stringify(event.event)} came where nothing of the kind was waited for`,
});

/** Updates the feed a reading is of and asks every rule; the state with the reading taken in where none holds. */
function readingTrip(plan: Plan, state: Exclude<EnergisedState, { at: "cutting" }>, reading: FeedReading, nowMs: number): Advanced | undefined {
  const feed = feedOf(plan, reading.feed);
  const live = state.energised.feeds[reading.feed];
  const trip = (tripped: Tripped): Advanced => cut(state, tripOf(state.progress, nowMs, reading.feed, tripped));
  if (feed === undefined) return trip({ rule: "unexpected", board: false, because: `a reading of ${reading.feed} came, which is no feed of this plan` });
  if (live === undefined) {
    const read = voltsOf(reading);
    const baseline = state.progress.offVolts[reading.feed]?.baseline;
    // What a capacitor still holds from its own touch runs down; back-feed stands above it.
    if (read !== undefined && read > plan.backFeedVolts && baseline !== undefined && read > baseline + 0.1) {
      const on = Object.keys(state.energised.feeds).join(" and ");
      return trip({
        rule: "back-feed",
        board: true,
        because: `${reading.feed} reads ${volts(read)} while only ${on} is on (${volts(plan.backFeedVolts)} allowed): back-feed through a shorted regulator`,
      });
    }
    return inState(plan, { ...state, progress: noteOff(plan, state.progress, reading) }, { event: "reading", atMs: nowMs, reading });
  }
  if (reading.volts.kind === "overload" || reading.amps.kind === "overload") {
    return trip({ rule: "overload-reading", board: false, because: `${reading.feed} reads an overload of the meter, which is no number` });
  }
  const sample = sampleOf(reading, live, feed);
  if (sample === undefined) return tickTrip(plan, state, nowMs);
  const updated = heard(live, sample, feed);
  const next: typeof state = { ...state, energised: { ...state.energised, feeds: { ...state.energised.feeds, [feed.feed]: updated } } };
  for (const check of FEED_TRIPS) {
    const tripped = check({ plan, feed, live: updated, stage: state.progress.stage, nowMs });
    if (tripped !== undefined) return cut(next, tripOf(state.progress, nowMs, feed.feed, tripped));
  }
  return inState(plan, next, { event: "reading", atMs: nowMs, reading });
}

/** Rules that time alone can break: staleness of any energised feed, the longest on-time, an answer that never comes. */
function tickTrip(plan: Plan, state: Exclude<EnergisedState, { at: "cutting" }>, nowMs: number): Advanced | undefined {
  for (const live of Object.values(state.energised.feeds)) {
    const feed = feedOf(plan, live.feed);
    if (feed === undefined) continue;
    const tripped = stale({ plan, feed, live, stage: state.progress.stage, nowMs });
    if (tripped !== undefined) return cut(state, tripOf(state.progress, nowMs, live.feed, tripped));
  }
  const onMs = nowMs - state.energised.sinceMs;
  if (onMs > plan.maxOnMs && state.at !== "switching-off") {
    if (state.at === "holding") return switchOff(plan, state, nowMs, null);
    return cut(state, tripOf(state.progress, nowMs, null, { rule: "on-time", board: false, because: `on for ${(onMs / 1000).toFixed(1)} s, the longest on-time for this cooling` }));
  }
  const waits = state.at === "setting-live" || state.at === "switching-on" || state.at === "switching-off";
  if (waits && nowMs - state.sinceMs > ANSWER_MS) {
    return cut(state, tripOf(state.progress, nowMs, null, { rule: "command-failed", board: false, because: `no answer within ${ANSWER_MS / 1000} s in ${state.at}` }));
  }
  return undefined;
}

function inState(plan: Plan, state: PlanState, event: PlanEvent): Advanced {
  switch (state.at) {
    case "ready":
      if (event.event !== "begin") return stay(state);
      return { state: { at: "residual", progress: { ...state.progress, stageSinceMs: event.atMs }, sinceMs: event.atMs }, effects: [] };
    case "residual":
      return residual(plan, state, event);
    case "setting":
      return setting(plan, state, event);
    case "setting-live":
      return settingLive(plan, state, event);
    case "switching-on":
      return switchingOn(plan, state, event);
    case "looking":
      return looking(plan, state, event);
    case "rising":
      return rising(plan, state, event);
    case "watching":
      return watching(plan, state, event);
    case "holding":
      return stay(state);
    case "switching-off":
      return switchingOff(plan, state, event);
    case "cutting":
      return cutting(plan, state, event);
    case "asking":
      return asking(plan, state, event);
    case "asking-live":
      return askingLive(plan, state, event);
    case "cooling":
      if (event.event !== "tick" || event.atMs < state.untilMs) return stay(state);
      return enterFeed(plan, { ...state.progress, stage: "rise", feedIndex: 0, stageSinceMs: event.atMs }, event.atMs);
    default:
      return stay(state);
  }
}

// ---- before anything is on

function residual(plan: Plan, state: Extract<PlanState, { at: "residual" }>, event: PlanEvent): Advanced {
  if (event.event !== "reading" && event.event !== "tick") return stay(state);
  const progress = event.event === "reading" ? noteOff(plan, state.progress, event.reading) : state.progress;
  const supplied = plan.feeds.filter((each) => !isManual(each));
  const high = supplied.find((each) => !((progress.offVolts[each.feed]?.volts ?? Number.POSITIVE_INFINITY) < plan.residualVolts));
  if (high === undefined) return enterFeed(plan, { ...progress, stage: "touch", feedIndex: 0, stageSinceMs: event.atMs }, event.atMs);
  if (event.atMs - state.sinceMs < RESIDUAL_MS) return stay({ ...state, progress });
  const read = progress.offVolts[high.feed]?.volts;
  const tripped: Tripped =
    read === undefined
      ? { rule: "stale", board: false, because: `no reading of ${high.feed} came before the first touch; nothing was energised` }
      : { rule: "residual", board: true, because: `${high.feed} still reads ${volts(read)} with everything off (${volts(plan.residualVolts)} allowed): a charge left, or fed from elsewhere; nothing was energised` };
  return end(progress, tripOf(progress, event.atMs, high.feed, tripped), "trip");
}

/** Remembers what a feed that is off reads. */
function noteOff(plan: Plan, progress: Progress, reading: FeedReading): Progress {
  const read = voltsOf(reading);
  if (read === undefined || feedOf(plan, reading.feed) === undefined) return progress;
  const before = progress.offVolts[reading.feed];
  return { ...progress, offVolts: { ...progress.offVolts, [reading.feed]: { volts: read, baseline: before === undefined ? read : Math.max(Math.min(before.baseline, read), 0) } } };
}

/** What the present stage asks of a feed; undefined where the feed has no such stage. */
function settingOf(progress: Progress, feed: PlanFeed): StageSetting | undefined {
  if (isManual(feed)) return progress.stage === "rise" ? feed.nominal : undefined;
  switch (progress.stage) {
    case "touch":
      return { ...feed.touch, limitAmps: Math.min(feed.touch.limitAmps, feed.limitAmps) };
    case "hold-low":
      return feed.holdLow ?? undefined;
    case "rise":
      return { ...feed.nominal, limitAmps: Math.min(progress.riseAmps[feed.feed] ?? feed.nominal.limitAmps, feed.limitAmps) };
    default:
      return undefined;
  }
}

/** Goes to the feed the progress names, past those that have no such stage, on to the next stage after the last. */
function enterFeed(plan: Plan, progress: Progress, atMs: number): Advanced {
  let now = progress;
  for (;;) {
    const feed = plan.feeds[now.feedIndex];
    if (feed === undefined) {
      if (now.stage === "touch") now = { ...now, stage: "hold-low", feedIndex: 0, stageSinceMs: atMs };
      else if (now.stage === "hold-low") now = { ...now, stage: "rise", feedIndex: 0, stageSinceMs: atMs };
      else return end(now, null, "plan");
      continue;
    }
    const wanted = settingOf(now, feed);
    if (wanted === undefined) {
      now = { ...now, feedIndex: now.feedIndex + 1 };
      continue;
    }
    if (isManual(feed)) {
      return {
        state: { at: "asking", progress: now, asks: "manual-on", feed: feed.feed, toAmps: 0, sinceMs: atMs, offSinceMs: atMs },
        effects: [{ effect: "ask-manual", feed: feed.feed, wanted: "on" }],
      };
    }
    return {
      state: { at: "setting", progress: now, sinceMs: atMs },
      effects: [{ effect: "configure", feed: feed.feed, setting: wanted, overCurrentOn: false }],
    };
  }
}

/** Why what was read back is not what was asked; undefined where it is. */
function echoProblem(feed: PlanFeed, asked: StageSetting, got: { setVolts: number; limitAmps: number; overVolts: number | null }): string | undefined {
  const stepV = Math.max(feed.stepVolts ?? 0, 0.001) * 1.01;
  const stepA = Math.max(feed.stepAmps ?? 0, 0.001) * 1.01;
  if (Math.abs(got.setVolts - asked.volts) > stepV) return `${feed.feed} was set to ${asked.volts} V and reads back ${got.setVolts} V`;
  if (Math.abs(got.limitAmps - asked.limitAmps) > stepA) return `${feed.feed} was limited to ${asked.limitAmps} A and reads back ${got.limitAmps} A`;
  if (feed.hasOverVoltage && (got.overVolts === null || Math.abs(got.overVolts - asked.overVolts) > Math.max(stepV, 0.1))) {
    return `the over-voltage protection of ${feed.feed} was set to ${asked.overVolts} V and reads back ${got.overVolts === null ? "nothing" : `${got.overVolts} V`}`;
  }
  return undefined;
}

function setting(plan: Plan, state: Extract<PlanState, { at: "setting" }>, event: PlanEvent): Advanced {
  const feed = plan.feeds[state.progress.feedIndex];
  const wanted = feed === undefined ? undefined : settingOf(state.progress, feed);
  if (feed === undefined || wanted === undefined) return end(state.progress, null, "plan");
  if (event.event === "tick" && event.atMs - state.sinceMs > ANSWER_MS) {
    return end(state.progress, tripOf(state.progress, event.atMs, feed.feed, { rule: "command-failed", board: false, because: `the settings of ${feed.feed} were not read back within ${ANSWER_MS / 1000} s; nothing was energised` }), "trip");
  }
  if (event.event !== "configured") return stay(state);
  const problem = event.feed === feed.feed ? echoProblem(feed, wanted, event) : `settings of ${event.feed} came where those of ${feed.feed} were asked`;
  if (problem !== undefined) {
    return end(state.progress, tripOf(state.progress, event.atMs, feed.feed, { rule: "command-failed", board: false, because: `${problem}; nothing was energised` }), "trip");
  }
  return switchOn(plan, state.progress, { sinceMs: event.atMs, feeds: {} }, feed, wanted, event.atMs);
}

function switchOn(plan: Plan, progress: Progress, energised: Energised, feed: PlanFeed, wanted: StageSetting, atMs: number): Advanced {
  // What is left on the others now is what back-feed must stand above.
  const offVolts = Object.fromEntries(
    Object.entries(progress.offVolts).map(([name, each]) => [name, name in energised.feeds ? each : { volts: each.volts, baseline: each.volts }]),
  );
  return {
    state: {
      at: "switching-on",
      progress: { ...progress, offVolts },
      sinceMs: atMs,
      energised: { ...energised, feeds: { ...energised.feeds, [feed.feed]: newLiveFeed(feed.feed, wanted, atMs) } },
      feed: feed.feed,
    },
    effects: [{ effect: "output-on", feed: feed.feed }],
  };
}

// ---- while current may flow

function switchingOn(plan: Plan, state: Extract<PlanState, { at: "switching-on" }>, event: PlanEvent): Advanced {
  if (event.event !== "output") return stay(state);
  if (event.feed !== state.feed || event.state !== "on") {
    return cut(state, tripOf(state.progress, event.atMs, event.feed, { rule: "command-failed", board: false, because: `the output of ${state.feed} was switched on and ${event.feed} reads ${event.state}` }));
  }
  const live = state.energised.feeds[state.feed];
  if (live === undefined) return cut(state, tripOf(state.progress, event.atMs, state.feed, unexpected(event)));
  const energised = withLive(state.energised, { ...live, onAtMs: event.atMs, heardAtMs: event.atMs });
  const { stage } = state.progress;
  const next = { progress: state.progress, sinceMs: event.atMs, energised };
  return stay(stage === "rise" ? { at: "rising", ...next } : { at: "looking", ...next, test: null });
}

function looking(plan: Plan, state: Extract<PlanState, { at: "looking" }>, event: PlanEvent): Advanced {
  const feed = plan.feeds[state.progress.feedIndex];
  const live = feed === undefined ? undefined : state.energised.feeds[feed.feed];
  if (feed === undefined || live === undefined) return cut(state, tripOf(state.progress, event.atMs, null, unexpected(event)));
  if (event.event !== "reading" && event.event !== "tick") return stay(state);
  if (state.progress.stage === "hold-low") {
    const judged = judgeHoldLow({ feed, live, nowMs: event.atMs });
    if (judged.say === "wait") return stay(state);
    if (judged.say === "stop") return cut(state, tripOf(state.progress, event.atMs, feed.feed, judged.tripped));
    return switchOff(plan, state, event.atMs, null);
  }
  const judged = judgeTouch({ plan, feed, live, test: state.test, nowMs: event.atMs });
  switch (judged.say) {
    case "wait":
      return stay(state);
    case "stop":
      return cut(state, tripOf(state.progress, event.atMs, feed.feed, judged.tripped));
    case "clean":
      return switchOff(plan, { ...state, progress: { ...state.progress, touch: { ...state.progress.touch, [feed.feed]: judged.finding } } }, event.atMs, null);
    case "second-limit": {
      const limitAmps = Math.min(judged.limitAmps, feed.limitAmps);
      return {
        state: { ...state, at: "setting-live", sinceMs: event.atMs, test: { step: 1, first: judged.first } },
        effects: [{ effect: "configure", feed: feed.feed, setting: { ...feed.touch, limitAmps }, overCurrentOn: false }],
      };
    }
    default:
      return judged satisfies never;
  }
}

function settingLive(plan: Plan, state: Extract<PlanState, { at: "setting-live" }>, event: PlanEvent): Advanced {
  if (event.event !== "configured") return stay(state);
  const feed = plan.feeds[state.progress.feedIndex];
  if (feed === undefined || event.feed !== feed.feed) return cut(state, tripOf(state.progress, event.atMs, event.feed, unexpected(event)));
  const wanted = state.test === null ? settingOf(state.progress, feed) : twoLimitSetting(feed, state.test);
  const problem = wanted === undefined ? "no setting was asked" : echoProblem(feed, wanted, event);
  if (problem !== undefined || wanted === undefined) {
    return cut(state, tripOf(state.progress, event.atMs, feed.feed, { rule: "command-failed", board: false, because: problem ?? "" }));
  }
  if (state.test === null) return switchOn(plan, state.progress, state.energised, feed, wanted, event.atMs);
  const live = state.energised.feeds[feed.feed];
  if (live === undefined) return cut(state, tripOf(state.progress, event.atMs, feed.feed, unexpected(event)));
  // The second look counts from here: readings asked before the new limit held belong to the first.
  const again: LiveFeed = { ...live, limitAmps: wanted.limitAmps, onAtMs: event.atMs, look: [], heardAtMs: event.atMs };
  return stay({ at: "looking", progress: state.progress, sinceMs: event.atMs, energised: withLive(state.energised, again), test: state.test });
}

const twoLimitSetting = (feed: PlanFeed, _test: TwoLimitTest): StageSetting => ({ ...feed.touch, limitAmps: Math.min(feed.twoLimitAmps[1], feed.limitAmps) });

function rising(plan: Plan, state: Extract<PlanState, { at: "rising" }>, event: PlanEvent): Advanced {
  if (event.event !== "reading" && event.event !== "tick") return stay(state);
  const feed = plan.feeds[state.progress.feedIndex];
  const live = feed === undefined ? undefined : state.energised.feeds[feed.feed];
  if (feed === undefined || live === undefined) return cut(state, tripOf(state.progress, event.atMs, null, unexpected(event)));
  if (!hasRisen(feed, live)) {
    const riseMs = Math.max(1000, feed.allowedLimitingMs + feed.supplyRiseMs, 10 * feed.readIntervalMs);
    if (event.atMs - state.sinceMs <= riseMs) return stay(state);
    return cut(state, tripOf(state.progress, event.atMs, feed.feed, { rule: "collapse", board: true, because: `${feed.feed} did not come up within ${riseMs.toFixed(0)} ms: ${volts(live.last?.volts ?? 0)} of ${volts(live.setVolts)}` }));
  }
  const energised = withLive(state.energised, { ...live, risen: true });
  return nextRise(plan, { ...state, energised }, event.atMs);
}

/** The next feed of the rise, with those before it on; after the last, the watch. */
function nextRise(plan: Plan, state: Extract<PlanState, { at: "rising" | "asking-live" }>, atMs: number): Advanced {
  const progress: Progress = { ...state.progress, feedIndex: state.progress.feedIndex + 1 };
  const feed = plan.feeds[progress.feedIndex];
  if (feed === undefined) {
    return stay({ at: "watching", progress: { ...progress, stage: "watch", feedIndex: 0, stageSinceMs: atMs }, sinceMs: atMs, energised: state.energised });
  }
  if (isManual(feed)) {
    return {
      state: { at: "asking-live", progress, sinceMs: atMs, energised: state.energised, feed: feed.feed },
      effects: [{ effect: "ask-manual", feed: feed.feed, wanted: "on" }],
    };
  }
  const wanted = settingOf(progress, feed);
  if (wanted === undefined) return nextRise(plan, { ...state, progress }, atMs);
  return {
    state: { at: "setting-live", progress, sinceMs: atMs, energised: state.energised, test: null },
    effects: [{ effect: "configure", feed: feed.feed, setting: wanted, overCurrentOn: false }],
  };
}

function watching(plan: Plan, state: Extract<PlanState, { at: "watching" }>, event: PlanEvent): Advanced {
  if (event.event !== "reading" && event.event !== "tick") return stay(state);
  if (event.atMs - state.sinceMs < plan.watch.seconds * 1000) return stay(state);
  if (plan.keepOn) return stay({ ...state, at: "holding", sinceMs: event.atMs });
  return switchOff(plan, state, event.atMs, null);
}

/** The last feed that is on goes off; after the last, the stage it belonged to goes on. */
function switchOff(plan: Plan, state: EnergisedState, atMs: number, trip: Trip | null): Advanced {
  const on = plan.feeds.filter((each) => each.feed in state.energised.feeds);
  const feed = on.at(-1);
  if (feed === undefined) return cut(state, trip);
  const isOff = state.progress.stage === "watch" || state.progress.stage === "off";
  const progress: Progress = isOff ? { ...state.progress, stage: "off", stageSinceMs: state.progress.stage === "off" ? state.progress.stageSinceMs : atMs } : state.progress;
  return {
    state: { at: "switching-off", progress, sinceMs: atMs, energised: state.energised, feed: feed.feed, trip },
    effects: [{ effect: "output-off", feed: feed.feed }],
  };
}

function switchingOff(plan: Plan, state: Extract<PlanState, { at: "switching-off" }>, event: PlanEvent): Advanced {
  if (event.event !== "output") return stay(state);
  if (event.feed !== state.feed || event.state !== "off") {
    return cut(state, tripOf(state.progress, event.atMs, event.feed, { rule: "command-failed", board: false, because: `${state.feed} was switched off and ${event.feed} reads ${event.state}` }));
  }
  const { [state.feed]: gone, ...left } = state.energised.feeds;
  const offVolts = gone?.last === undefined || gone.last === null ? state.progress.offVolts : { ...state.progress.offVolts, [state.feed]: { volts: gone.last.volts, baseline: gone.last.volts } };
  const progress: Progress = { ...state.progress, offVolts };
  if (Object.keys(left).length > 0) return switchOff(plan, { ...state, progress, energised: { ...state.energised, feeds: left } }, event.atMs, state.trip);
  if (progress.stage === "off") return offOfManual(plan, progress, event.atMs, state.trip);
  return enterFeed(plan, { ...progress, feedIndex: progress.feedIndex + 1 }, event.atMs);
}

/** Feeds a person switched on are asked off last. */
function offOfManual(plan: Plan, progress: Progress, atMs: number, trip: Trip | null): Advanced {
  const feed = progress.manualOn.at(-1);
  if (feed === undefined) return end(progress, trip, trip === null ? "plan" : "trip");
  return {
    state: { at: "asking", progress, asks: "manual-off", feed, toAmps: 0, sinceMs: atMs, offSinceMs: atMs },
    effects: [{ effect: "ask-manual", feed, wanted: "off" }],
  };
}

// ---- cut, ladder, end

function cut(state: EnergisedState, trip: Trip | null): Advanced {
  const atMs = trip?.atMs ?? state.progress.stageSinceMs;
  return {
    state: { at: "cutting", progress: state.progress, sinceMs: atMs, energised: state.energised, trip, wasHolding: state.at === "holding" },
    effects: [{ effect: "cut", why: trip?.because ?? "off" }],
  };
}

function cutting(plan: Plan, state: Extract<PlanState, { at: "cutting" }>, event: PlanEvent): Advanced {
  if (event.event !== "cut-done") return stay(state);
  const { trip } = state;
  if (event.output === "unknown") return end(state.progress, trip, "trip", "unknown");
  // Held on request, the draw is judged already: a person's off is how it was meant to end.
  if (state.wasHolding && trip?.rule === "operator") return end({ ...state.progress, stage: "off" }, null, "plan");
  const raise = trip === null ? null : nextRaise(plan, state.progress, trip);
  if (raise === null) return end(state.progress, trip, trip?.rule === "operator" ? "person" : "trip");
  const progress: Progress = { ...state.progress, limitToTry: raise };
  if (progress.raises >= plan.ladder.raises) return end(progress, trip, "trip");
  return {
    state: { at: "asking", progress: { ...progress, heldTrip: trip }, asks: "raise", feed: raise.feed, toAmps: raise.amps, sinceMs: event.atMs, offSinceMs: event.atMs },
    effects: [{ effect: "ask-raise", feed: raise.feed, fromAmps: progress.riseAmps[raise.feed] ?? 0, toAmps: raise.amps, because: trip?.because ?? "" }],
  };
}

function asking(plan: Plan, state: Extract<PlanState, { at: "asking" }>, event: PlanEvent): Advanced {
  if (event.event !== "answered") return stay(state);
  const { progress, feed } = state;
  if (state.asks === "manual-off") {
    if (!event.yes) return end(progress, null, "plan", "unknown");
    return offOfManual(plan, { ...progress, manualOn: progress.manualOn.filter((each) => each !== feed) }, event.atMs, null);
  }
  if (state.asks === "manual-on") {
    if (!event.yes) return end(progress, tripOf(progress, event.atMs, feed, { rule: "operator", board: false, because: `${feed} was not switched on` }), "person");
    return enterFeed(plan, { ...progress, manualOn: [...progress.manualOn, feed], feedIndex: progress.feedIndex + 1 }, event.atMs);
  }
  if (!event.yes) return end(progress, progress.heldTrip, "trip");
  return {
    state: {
      at: "cooling",
      progress: { ...progress, raises: progress.raises + 1, riseAmps: { ...progress.riseAmps, [feed]: state.toAmps }, limitToTry: null, heldTrip: null },
      sinceMs: event.atMs,
      untilMs: state.offSinceMs + plan.ladder.offMs,
    },
    effects: [],
  };
}

function askingLive(plan: Plan, state: Extract<PlanState, { at: "asking-live" }>, event: PlanEvent): Advanced {
  if (event.event !== "answered") return stay(state);
  if (!event.yes) return cut(state, tripOf(state.progress, event.atMs, state.feed, { rule: "operator", board: false, because: `${state.feed} was not switched on` }));
  return nextRise(plan, { ...state, progress: { ...state.progress, manualOn: [...state.progress.manualOn, state.feed] } }, event.atMs);
}

function end(progress: Progress, trip: Trip | null, by: "plan" | "person" | "trip", output: "off" | "unknown" = "off"): Advanced {
  // A feed that a person switched on is not off because ours are.
  const told = progress.manualOn.length > 0 ? "unknown" : output;
  return { state: { at: "ended", progress, trip, output: told, by }, effects: [{ effect: "finish" }] };
}

const withLive = (energised: Energised, live: LiveFeed): Energised => ({ ...energised, feeds: { ...energised.feeds, [live.feed]: live } });

const feedOf = (plan: Plan, name: string): PlanFeed | undefined => plan.feeds.find((each) => each.feed === name);

const tripOf = (progress: Progress, atMs: number, feed: string | null, tripped: Tripped): Trip => ({ ...tripped, feed, stage: progress.stage, atMs });
