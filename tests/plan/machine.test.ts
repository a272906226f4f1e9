import { describe, expect, test } from "vitest";
import { RunProgress } from "../../shared/ipc.ts";
import type { Plan } from "../../shared/plan.ts";
import { RunOutcome } from "../../shared/plan.ts";
import { advance } from "../../src/plan/machine/advance.ts";
import { describeState } from "../../src/plan/machine/describe-state.ts";
import {
  closelyRead,
  energisedFeeds,
  initialState,
  type PlanState,
  wantedReadings,
} from "../../src/plan/machine/machine-state.ts";
import { outcomeOf } from "../../src/plan/machine/outcome.ts";
import { runOnModel } from "./bench-model.ts";
import { kestrelPlan } from "./example-plan.ts";
import { healthyFeeds } from "./healthy-feeds.ts";

const plan = kestrelPlan({ options: { watchSeconds: 2 } });

/** The states a healthy run goes through, one for each step. */
function statesOf(of: Plan): PlanState[] {
  const { events } = runOnModel({ plan: of, feeds: healthyFeeds() });
  let state = initialState(of);
  const seen = new Map<string, PlanState>();
  for (const event of events) {
    state = advance(of, state, event).state;
    seen.set("step" in state ? `${state.kind} ${state.step.step}` : state.kind, state);
  }
  return [...seen.values()];
}

describe("an event that cuts", () => {
  test.each([
    { event: { event: "stop", atMs: 0, by: "the key" } as const, rule: "operator", ended: "stopped-by-person" },
    {
      event: { event: "link-lost", atMs: 0, instrument: "psu", because: "gone" } as const,
      rule: "link-lost",
      ended: "failed",
    },
    {
      event: { event: "silent", atMs: 0, instrument: "psu", because: "no reply" } as const,
      rule: "silent",
      ended: "failed",
    },
    {
      event: { event: "protection", atMs: 0, feed: "aux", which: "over-current" } as const,
      rule: "protection",
      ended: "board-stopped",
    },
    {
      event: { event: "front-panel", atMs: 0, feed: "aux", because: "off by hand" } as const,
      rule: "front-panel",
      ended: "failed",
    },
    {
      event: { event: "lease-lost", atMs: 0, because: "the daemon is gone" } as const,
      rule: "lease-lost",
      ended: "failed",
    },
    { event: { event: "guardian-lost", atMs: 0, because: "ended" } as const, rule: "guardian-lost", ended: "failed" },
    { event: { event: "clock-gap", atMs: 0, gapMs: 8000 } as const, rule: "clock-gap", ended: "failed" },
    {
      event: { event: "failed", atMs: 0, feed: "aux", because: "EIO" } as const,
      rule: "command-failed",
      ended: "failed",
    },
    { event: { event: "output", atMs: 0, feed: "aux", state: "off" } as const, rule: "unexpected", ended: "failed" },
  ])("$event.event in the watch ends the run as $ended, rule $rule", ({ event, rule, ended }) => {
    const run = runOnModel({ plan, feeds: healthyFeeds(), at: [{ ms: 3000, event }] });
    expect(run.outcome).toMatchObject({ ended, output: "off", reachedStage: "watch", trip: { rule, stage: "watch" } });
    expect(run.effects.slice(-2).map(({ effect }) => effect.effect)).toEqual(["cut", "finish"]);
  });

  test("a cut that is not proved leaves the output unknown, and a later proof is taken", () => {
    const run = runOnModel({
      plan,
      feeds: healthyFeeds(),
      at: [{ ms: 3000, event: { event: "stop", atMs: 0, by: "the key" } }],
      spoil: (effect, atMs) =>
        effect.effect === "cut" ? { event: "cut-done", atMs, output: "unknown", because: "no reply" } : null,
    });
    expect(run.outcome).toMatchObject({ ended: "stopped-by-person", output: "unknown" });
    const later = advance(plan, run.state, { event: "cut-done", atMs: 9000, output: "off", because: "read back" });
    expect(outcomeOf(later.state).output).toBe("off");
  });

  test("a cut that nobody answers is asked for again and ends unknown", () => {
    const run = runOnModel({
      plan,
      feeds: healthyFeeds(),
      at: [{ ms: 3000, event: { event: "stop", atMs: 0, by: "the key" } }],
      spoil: (effect) => (effect.effect === "cut" ? "silence" : null),
    });
    expect(run.outcome.output).toBe("unknown");
    expect(run.effects.filter(({ effect }) => effect.effect === "cut")).toHaveLength(2);
  });

  test("a refused setting before anything is on ends the run with nothing energised", () => {
    const run = runOnModel({
      plan,
      feeds: healthyFeeds(),
      spoil: (effect, atMs) =>
        effect.effect === "configure" ? { event: "refused", atMs, feed: effect.feed, because: "-222" } : null,
    });
    expect(run.effects.map(({ effect }) => effect.effect)).toEqual(["configure", "cut", "finish"]);
    expect(run.outcome).toMatchObject({ ended: "failed", output: "off", trip: { rule: "command-failed" } });
  });

  test("an output that comes on by itself with nothing on is cut", () => {
    const begun = advance(plan, initialState(plan), { event: "begin", atMs: 0 }).state;
    const { state, effects } = advance(plan, begun, { event: "output", atMs: 5, feed: "aux", state: "on" });
    expect(effects.map((each) => each.effect)).toEqual(["cut"]);
    expect(state).toMatchObject({ kind: "cutting", trip: { rule: "front-panel" } });
  });

  test("an output that is not proved off is cut", () => {
    const run = runOnModel({
      plan,
      feeds: healthyFeeds(),
      spoil: (effect) => (effect.effect === "output-off" ? "silence" : null),
    });
    expect(run.outcome).toMatchObject({ ended: "failed", output: "off", trip: { rule: "command-failed" } });
  });

  test("readings that stop coming are a trip, not no news", () => {
    const run = runOnModel({
      plan,
      feeds: healthyFeeds(),
      spoilReading: (reading) => (reading.feed === "aux" && reading.atMs > 2500 ? null : reading),
    });
    expect(run.outcome).toMatchObject({ ended: "failed", output: "off", trip: { rule: "stale", feed: "aux" } });
  });

  test("an overload of an energised feed is a trip", () => {
    const run = runOnModel({
      plan,
      feeds: healthyFeeds(),
      spoilReading: (reading) =>
        reading.feed === "aux" && reading.atMs > 2500 ? { ...reading, amps: { kind: "overload" } } : reading,
    });
    expect(run.outcome).toMatchObject({ ended: "board-stopped", trip: { rule: "overload-reading", feed: "aux" } });
  });
});

describe("a feed a person switches", () => {
  const byHand: Plan = {
    ...plan,
    feeds: plan.feeds.map((each) => (each.feed === "slot12" ? { ...each, supply: null, channel: null } : each)),
  };

  test("is asked for in its order, and off after all that can be switched from here", () => {
    const run = runOnModel({ plan: byHand, feeds: healthyFeeds(), answers: [true, true] });
    const told = run.effects.flatMap(({ effect }) =>
      effect.effect === "ask-manual"
        ? [`${effect.feed} ${effect.wanted}`]
        : effect.effect === "output-off" || effect.effect === "output-on"
          ? [`${effect.feed} ${effect.effect}`]
          : [],
    );
    expect(told.slice(-6)).toEqual([
      "slot3v3 output-on",
      "slot12 on",
      "aux output-on",
      "aux output-off",
      "slot3v3 output-off",
      "slot12 off",
    ]);
    expect(run.outcome).toMatchObject({ ended: "as-planned", output: "off" });
  });

  test("that stays on leaves the output unknown", () => {
    expect(runOnModel({ plan: byHand, feeds: healthyFeeds(), answers: [true, false] }).outcome).toMatchObject({
      ended: "as-planned",
      output: "unknown",
    });
  });

  test("that is not switched on ends the run by the cut", () => {
    const run = runOnModel({ plan: byHand, feeds: healthyFeeds(), answers: [false] });
    expect(run.outcome).toMatchObject({ ended: "stopped-by-person", output: "off" });
    expect(run.effects.slice(-2).map(({ effect }) => effect.effect)).toEqual(["cut", "finish"]);
  });

  test("is asked for after a cut as well; without a yes the output is unknown", () => {
    const stop = [{ ms: 3000, event: { event: "stop", atMs: 0, by: "the key" } as const }];
    expect(runOnModel({ plan: byHand, feeds: healthyFeeds(), answers: [true, true], at: stop }).outcome).toMatchObject({
      ended: "stopped-by-person",
      output: "off",
    });
    expect(runOnModel({ plan: byHand, feeds: healthyFeeds(), answers: [true, false], at: stop }).outcome).toMatchObject(
      { ended: "stopped-by-person", output: "unknown" },
    );
  });
});

describe("what the runner and the screen are told", () => {
  const states = statesOf(kestrelPlan({ options: { watchSeconds: 2, keepOn: true, cooler: "bare" } }));

  test("every state has a description and an outcome by their schemas", () => {
    expect(states.length).toBeGreaterThan(9);
    for (const state of states) {
      RunProgress.parse({ ...describeState(plan, state), energised: energisedFeeds(state) });
      RunOutcome.parse(outcomeOf(state));
    }
  });

  test("the output is called on only while it is held on by intent", () => {
    for (const state of states)
      expect(outcomeOf(state).output === "on").toBe(state.kind === "energised" && state.step.step === "holding");
  });

  test("feeds that are on are read each round but beside one that comes up; the others less often, nothing before and after", () => {
    expect(wantedReadings(plan, initialState(plan))).toEqual([]);
    for (const state of states) {
      const wanted = wantedReadings(plan, state);
      if (state.kind === "ended") expect(wanted).toEqual([]);
      else expect(wanted.map((each) => each.feed).sort()).toEqual(["aux", "slot12", "slot3v3"]);
      if (state.kind === "energised")
        for (const { feed, everyNth } of wanted) {
          const closely = closelyRead(state);
          const each = energisedFeeds(state).includes(feed) && (closely.length === 0 || closely.includes(feed));
          expect(everyNth === 1).toBe(each);
        }
    }
  });

  test("a tick that decides nothing answers the very state it was given", () => {
    for (const state of states) {
      const { state: after, effects } = advance(plan, state, { event: "tick", atMs: state.ledger.atMs });
      expect(after).toBe(state);
      expect(effects).toEqual([]);
    }
  });
});
