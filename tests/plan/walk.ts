import type { Plan, PlanEffect, PlanEvent, StageSetting } from "../../shared/plan.ts";
import { advance } from "../../src/plan/machine/advance.ts";
import { summedLimitingMs } from "../../src/plan/machine/feed-track.ts";
import { initialState, type LiveFeed, type PlanState } from "../../src/plan/machine/machine-state.ts";
import { plannedFeed } from "../../src/plan/machine/plan-feeds.ts";
import { openQuestion } from "../../src/plan/machine/questions.ts";

/** A reachable state with the time it was reached at, and what the supplies were last told to be set to. */
export interface Node {
  state: PlanState;
  nowMs: number;
  configured: Record<string, StageSetting>;
  /** What led here, and from where. */
  came: { event: string; from: Node } | null;
}

export interface Edge {
  from: Node;
  event: PlanEvent;
  to: PlanState;
  effects: PlanEffect[];
}

const readingOf = (feed: string, atMs: number, volts: number, amps: number, mode: "cv" | "cc"): PlanEvent => ({
  event: "reading",
  atMs,
  reading: {
    feed,
    queriedAtMs: atMs - 1,
    atMs,
    volts: { kind: "value", volts },
    amps: { kind: "value", amps },
    mode,
    together: true,
  },
});

/** The reading of a short at the limit. */
export const shorted = (feed: string, live: LiveFeed, atMs: number): PlanEvent =>
  readingOf(feed, atMs, 0.02, live.setting.limitAmps, "cc");
export const overVolted = (feed: string, live: LiveFeed, atMs: number): PlanEvent =>
  readingOf(feed, atMs, live.setting.overVolts + 1, 0.01, "cv");
export const overloaded = (feed: string, atMs: number): PlanEvent => ({
  event: "reading",
  atMs,
  reading: {
    feed,
    queriedAtMs: atMs - 1,
    atMs,
    volts: { kind: "overload" },
    amps: { kind: "value", amps: 0 },
    mode: "unknown",
    together: true,
  },
});

/** Events that cut whatever is on, by themselves. */
export function cuttingEvents(atMs: number, feed: string): PlanEvent[] {
  return [
    { event: "stop", atMs, by: "the key" },
    { event: "went-off", atMs, feed },
    { event: "link-lost", atMs, instrument: "psu", because: "gone" },
    { event: "silent", atMs, instrument: "psu", because: "no reply" },
    { event: "protection", atMs, feed, which: "over-voltage" },
    { event: "front-panel", atMs, feed, because: "volts changed" },
    { event: "lease-lost", atMs, because: "taken over" },
    { event: "guardian-lost", atMs, because: "ended" },
    { event: "clock-gap", atMs, gapMs: 4000 },
    { event: "failed", atMs, feed: null, because: "write refused" },
    { event: "refused", atMs, feed, because: "-222" },
    { event: "begin", atMs, rules: 3 },
    { event: "cut-done", atMs, output: "off", because: "nobody asked" },
  ];
}

/** The number of a question that was never asked. */
export const STRAY = 0;

/** Everything that may happen next, out of a finite alphabet. */
export function alphabet(plan: Plan, { state, nowMs }: Node): PlanEvent[] {
  const atMs = nowMs + 10;
  const live = state.kind === "energised" ? state.energised : [];
  const events: PlanEvent[] = [160, 700].map((ms) => ({ event: "tick", atMs: nowMs + ms }));
  for (const { feed, supply } of plan.feeds) {
    const on = live.find((each) => each.feed === feed);
    if (supply !== null && on === undefined)
      events.push(readingOf(feed, atMs, 0, 0, "cv"), readingOf(feed, atMs, 0.6, 0, "cv"));
    if (supply !== null && on !== undefined) {
      events.push({ event: "went-off", atMs, feed });
      const { volts, limitAmps } = on.setting;
      events.push(
        readingOf(feed, atMs, volts, 0.001, "cv"),
        readingOf(feed, nowMs + 320, volts, 0.001, "cv"),
        readingOf(feed, atMs, 0.6 * volts, limitAmps, "cc"),
        ...(plan.inject === undefined ? [] : [readingOf(feed, atMs, 0.1 * volts, limitAmps, "cc")]),
        shorted(feed, on, atMs),
        overVolted(feed, on, atMs),
        overloaded(feed, atMs),
      );
    }
    for (const out of ["on", "off"] as const) events.push({ event: "output", atMs, feed, state: out });
  }
  events.push(...configuredEvents(state, atMs), ...cuttingEvents(atMs, plan.feeds[0]?.feed ?? ""));
  const open = openQuestion(state);
  const question = open ?? STRAY;
  for (const yes of [true, false]) events.push({ event: "answered", atMs, question, yes });
  if (open !== null) events.push({ event: "answered", atMs, question: STRAY, yes: true });
  events.push({ event: "end", atMs, by: "the page" });
  for (const protection of ["over-voltage", null])
    events.push({ event: "why-off", atMs, feed: plan.feeds[0]?.feed ?? "", protection, because: "it said so" });
  events.push({ event: "cut-done", atMs, output: "unknown", because: "no reply" });
  return events;
}

function configuredEvents(state: PlanState, atMs: number): PlanEvent[] {
  const step = state.kind === "safe" || state.kind === "energised" ? state.step : null;
  const waiting =
    step?.step === "configure" || step?.step === "relimit" || step?.step === "set-volts"
      ? { feed: step.feed, setting: step.setting }
      : step?.step === "watch" && state.kind === "energised" && step.guard.waiting !== null
        ? {
            feed: step.guard.waiting.feed,
            setting: state.energised.find((each) => each.feed === step.guard.waiting?.feed)?.setting,
          }
        : null;
  if (waiting?.setting === undefined || waiting === null)
    return [{ event: "configured", atMs, feed: "aux", setVolts: 1, limitAmps: 1, overVolts: 2 }];
  const { volts, limitAmps, overVolts } = waiting.setting;
  const echo = { event: "configured", atMs, feed: waiting.feed, setVolts: volts, limitAmps, overVolts } as const;
  return [echo, { ...echo, setVolts: volts + 0.5 }, { ...echo, limitAmps: limitAmps * 2 }];
}

const bucket = (value: number, ...edges: number[]): number => edges.filter((edge) => value >= edge).length;

/**
 * What two states must share to count as one. Steps, feeds, limits and answers are told apart exactly; times since a step
 * began, readings and sums are told apart only by whether they are past a few marks. So the walk reaches every step by
 * every order of events, and of the many states that differ in a number alone it looks at the first that it came to.
 */
export function keyOf(plan: Plan, { state, nowMs }: Node): string {
  const { ledger } = state;
  const sinceMs = "step" in state ? state.step.sinceMs : nowMs;
  const shared = [
    state.kind,
    ledger.stage,
    ledger.raises,
    Object.keys(ledger.touched).length,
    bucket(nowMs - sinceMs, 100, 400, 700, 1000),
  ];
  if (state.kind === "preparing") return "preparing";
  if (state.kind === "asking-why") return JSON.stringify([...shared, state.feed, state.output, state.manual]);
  if (state.kind === "ended") return JSON.stringify([state.kind, state.ended, state.output, state.trip?.rule]);
  if (state.kind === "cutting")
    return JSON.stringify([
      state.kind,
      state.ended,
      state.output,
      state.raise?.toAmps,
      state.manual,
      state.trip?.stage,
    ]);
  const { step } = state;
  const stepKey = [
    step.step,
    "feed" in step ? step.feed : "",
    "target" in step ? step.target : "",
    "guard" in step ? step.guard.waiting?.feed : "",
    "points" in step ? step.points.length : 0,
    "index" in step ? step.index : 0,
    step.step === "level" ? [step.track.before !== null, step.track.last !== null] : null,
    step.step === "inject"
      ? [
          step.track.base !== null,
          step.track.early.length,
          step.track.level.limited,
          bucket(step.track.clearedRun, 1, 2),
        ]
      : null,
    ledger.endedEarly,
    ledger.steps.length,
    ledger.levels.map((each) => [each.limited, each.amps > 0.1]),
    Object.values(ledger.limits),
  ];
  if (state.kind === "safe")
    return JSON.stringify([
      ...shared,
      ...stepKey,
      step.step === "clear" ? Object.values(step.seen).map((each) => each > 0.3) : null,
    ]);
  const awaited = step.step === "read-anew" ? step.sinceMs : null;
  const comesUp = step.step === "climb" || awaited !== null || step.step === "watch" || step.step === "holding";
  const feeds = state.energised.map(({ feed, onMs, leaving, track, setting }) => {
    const newest = track.recent.slice(-2).map((each) => each.limiting);
    const planned = plannedFeed(plan, feed);
    const limited = planned === undefined ? 0 : bucket(summedLimitingMs(planned, track, nowMs), 80);
    // How a feed comes up matters from the rise on; while it goes on or off only that it does.
    const seen = comesUp
      ? [newest, limited, track.reachedMs !== null, track.falls]
      : step.step === "switch-off" || step.step === "switch-on"
        ? []
        : [newest, limited];
    return [
      feed,
      onMs !== null,
      leaving,
      setting.limitAmps,
      bucket(nowMs - (track.last?.atMs ?? nowMs), 200),
      seen,
      awaited !== null && (track.last?.queriedAtMs ?? -1) >= awaited,
    ];
  });
  return JSON.stringify([...shared, ...stepKey, feeds]);
}

/** Every state reachable from the start by the alphabet, breadth first, one for each key; `seen` is asked of each edge. */
export function walk(plan: Plan, most: number, seen: (edge: Edge) => void): Node[] {
  const start: Node = { state: initialState(plan), nowMs: 0, configured: {}, came: null };
  const known = new Map<string, Node>([[keyOf(plan, start), start]]);
  const queue = [start];
  for (let next = queue.shift(); next !== undefined; next = queue.shift()) {
    for (const event of alphabet(plan, next)) {
      const { state, effects } = advance(plan, next.state, event);
      seen({ from: next, event, to: state, effects });
      const configured =
        event.event === "configured" ? { ...next.configured, [event.feed]: settingOf(event) } : next.configured;
      const node: Node = { state, nowMs: event.atMs, configured, came: { event: event.event, from: next } };
      const key = keyOf(plan, node);
      if (known.has(key) || known.size >= most) continue;
      known.set(key, node);
      queue.push(node);
    }
  }
  return [...known.values()];
}

const settingOf = (event: Extract<PlanEvent, { event: "configured" }>): StageSetting => ({
  volts: event.setVolts,
  limitAmps: event.limitAmps,
  overVolts: event.overVolts ?? Number.NaN,
  maxMs: 0,
});

/** The last events that led to a node, for a failure to be understood by. */
export function said(node: Node, event: { event: string }): string {
  const words = [event.event];
  for (let at: Node | undefined = node; at?.came != null && words.length < 10; at = at.came.from)
    words.unshift(at.came.event);
  return words.join(" > ");
}
