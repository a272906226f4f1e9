import { describe, expect, test } from "vitest";
import type { Plan, PlanEvent } from "../../shared/plan.ts";
import { advance } from "../../src/plan/machine/advance.ts";
import { energisedFeeds, type LiveFeed, type PlanState } from "../../src/plan/machine/machine-state.ts";
import { openQuestion } from "../../src/plan/machine/questions.ts";
import { coreInjection, kestrelPlan } from "./example-plan.ts";
import { cuttingEvents, type Edge, type Node, overloaded, overVolted, STRAY, said, shorted, walk } from "./walk.ts";

/** Two feeds, one of them with a hold below lock-out and a ladder; short times so that every ending is near. */
const whole = kestrelPlan({ options: { watchSeconds: 0.6, keepOn: true, slowestPeriodMs: 100 } });
const powerUp: Plan = {
  ...whole,
  feeds: whole.feeds.filter((each) => each.feed !== "slot12"),
  maxOnMs: 2500,
  ladder: { ...whole.ladder, offMs: 200 },
};
const stepped = kestrelPlan({
  options: { watchSeconds: 0.6, slowestPeriodMs: 100, margin: { feed: "aux", steps: 3 } },
});
const margin: Plan = {
  ...stepped,
  feeds: stepped.feeds.filter((each) => each.feed === "aux"),
  ladder: { ...stepped.ladder, raises: 0 },
};

const injected = coreInjection();
const injection: Plan = {
  ...injected,
  ...(injected.inject === undefined
    ? {}
    : { inject: { ...injected.inject, levelsAmps: [0.5, 1], levelMs: 600, topMs: 900 } }),
};

/** One feed with a supply between two that a person switches. */
const byHand: Plan = {
  ...powerUp,
  feeds: whole.feeds.map((each) => (each.feed === "slot12" ? each : { ...each, supply: null, channel: null })),
};

const PLANS = [
  {
    title: "a power-up of two feeds",
    plan: powerUp,
    least: { states: 1000, energised: 500, settings: 100 },
    most: { underOneVoltAmps: 0.4 },
    steps: ["ask-raise", "cool", "look", "relimit", "hold", "climb", "read-anew", "watch", "holding"],
  },
  {
    title: "a power-up with two feeds that a person switches",
    plan: byHand,
    least: { states: 300, energised: 150, settings: 20 },
    most: { underOneVoltAmps: 0.4 },
    steps: ["ask-manual-on", "ask-manual-off", "climb", "read-anew", "watch"],
  },
  {
    title: "a margin run of one feed",
    plan: margin,
    least: { states: 300, energised: 200, settings: 50 },
    most: { underOneVoltAmps: 0.4 },
    steps: ["look", "hold", "climb", "watch", "set-volts", "level"],
  },
  {
    title: "an injection",
    plan: injection,
    least: { states: 60, energised: 30, settings: 5 },
    most: { underOneVoltAmps: 5 },
    steps: ["inject", "ask-level"],
  },
];

// Which states count as one is said at `keyOf`.
describe.each(PLANS)("every reachable state of $title", ({ plan, least, steps: wanted, most }) => {
  const edges: Edge[] = [];
  const nodes = walk(plan, 20_000, (edge) => edges.push(edge));
  const energised = nodes.flatMap((node) => (node.state.kind === "energised" ? [{ node, state: node.state }] : []));
  const feed = plan.feeds.at(-1)?.feed ?? "";

  /** Those of the events after which something else than the cut comes first, told by what led there. */
  const notCut = (node: Node, events: PlanEvent[]): string[] =>
    events
      .filter((event) => advance(plan, node.state, event).effects[0]?.effect !== "cut")
      .map((event) => said(node, event));

  test("is some hundreds of states, and every kind and step of them", () => {
    expect(nodes.length, `${nodes.length} states, ${edges.length} edges`).toBeGreaterThan(least.states);
    expect(nodes.length, "the walk must not have been cut short").toBeLessThan(20_000);
    expect(energised.length).toBeGreaterThan(least.energised);
    const steps = new Set<string>(nodes.flatMap(({ state }) => ("step" in state ? [state.step.step] : [state.kind])));
    for (const step of [
      ...wanted,
      "clear",
      "configure",
      "switch-on",
      "switch-off",
      "preparing",
      "asking-why",
      "cutting",
      "ended",
    ])
      expect(steps).toContain(step);
  });

  test("cuts, as its first effect, on a stop, a lost link, silence, a failed command and whatever else ends a run, while energised", () => {
    expect(energised.flatMap(({ node }) => notCut(node, cuttingEvents(node.nowMs + 1, feed)))).toEqual([]);
  });

  test("is changed by no answer but the one to the open question", () => {
    const changed = nodes.filter(({ state, nowMs }) => {
      const stray = [STRAY, state.ledger.questions + 1, openQuestion(state) === null ? state.ledger.questions : STRAY];
      return stray.some((question) => {
        const result = advance(plan, state, { event: "answered", atMs: nowMs + 1, question, yes: true });
        return result.state !== state || result.effects.length > 0;
      });
    });
    expect(changed.map((node) => said(node, { event: "answered" }))).toEqual([]);
  });

  test("switches nothing on and sets nothing while it is made ready and while a supply is asked why", () => {
    const wrong = edges.filter(
      ({ from, effects }) =>
        (from.state.kind === "preparing" || from.state.kind === "asking-why") &&
        effects.some((each) => each.effect === "output-on" || each.effect === "configure"),
    );
    expect(wrong.map(({ from, event }) => said(from, event))).toEqual([]);
  });

  test("goes off feed by feed, or all at once, when a person ends it in order, and never goes on", () => {
    const wrong = energised.filter(({ node, state }) => {
      const { effects } = advance(plan, node.state, { event: "end", atMs: node.nowMs + 1, by: "the page" });
      const first = effects[0]?.effect ?? (state.ledger.stage === "off" ? "on its way" : "nothing");
      return !["cut", "output-off", "ask-manual", "on its way"].includes(first);
    });
    expect(wrong.map(({ node }) => said(node, { event: "end" }))).toEqual([]);
  });

  test("cuts, as its first effect, on a reading over the stage's volts and on an overload, of any feed that is on", () => {
    const wrong = energised.flatMap(({ node, state }) =>
      withSupply(state.energised).flatMap((live) =>
        notCut(node, [overVolted(live.feed, live, node.nowMs + 5), overloaded(live.feed, node.nowMs + 5)]),
      ),
    );
    expect(wrong).toEqual([]);
  });

  test("cuts when readings and answers stay away", () => {
    expect(energised.flatMap(({ node }) => notCut(node, [{ event: "tick", atMs: node.nowMs + 9000 }]))).toEqual([]);
  });

  // An injection is meant to stay there, for the time of its level.
  test("ends within two seconds when a feed that is on stays at its limit with no volts, a power-up by the cut", () => {
    const slow = energised
      .filter(({ state }) => state.step.step !== "switch-off")
      .flatMap(({ node, state }) =>
        withSupply(state.energised).map((live) => ({
          how: said(node, { event: live.feed }),
          seconds: secondsToCut(plan, node, live.feed),
        })),
      );
    expect(slow.filter(({ seconds }) => seconds >= 2)).toEqual([]);
  });

  test("never sets a feed above its own limits, nor above those of its stage", () => {
    const settings = edges.flatMap(({ effects }) =>
      effects.flatMap((effect) => (effect.effect === "configure" ? [effect] : [])),
    );
    const above = settings.filter(({ feed, setting: { volts, limitAmps, overVolts } }) => {
      const planned = plan.feeds.find((each) => each.feed === feed);
      return (
        limitAmps > (planned?.limitAmps ?? 0) ||
        overVolts > (planned?.maxVolts ?? 0) ||
        volts >= overVolts ||
        (volts < 1 && limitAmps > most.underOneVoltAmps)
      );
    });
    expect(settings.length).toBeGreaterThan(least.settings);
    expect(above).toEqual([]);
  });

  test("switches nothing on before exactly that setting was read back", () => {
    const ons = edges.flatMap((edge) =>
      edge.effects.flatMap((effect) => (effect.effect === "output-on" ? [{ edge, feed: effect.feed }] : [])),
    );
    const blind = ons.filter(({ edge: { from, event, to }, feed }) => {
      const live = to.kind === "energised" ? to.energised.find((each) => each.feed === feed) : undefined;
      const last =
        event.event === "configured" && event.feed === feed
          ? { volts: event.setVolts, limitAmps: event.limitAmps }
          : from.configured[feed];
      return live === undefined || last?.volts !== live.setting.volts || last.limitAmps !== live.setting.limitAmps;
    });
    expect(ons.length).toBeGreaterThan(3);
    expect(blind.map(({ edge }) => said(edge.from, edge.event))).toEqual([]);
  });

  test("lets a feed out of its sight only as proved off, or into the cut", () => {
    const lost = edges.filter(({ from, event, to }) => {
      if (to.kind === "cutting" || to.kind === "asking-why") return false;
      // What a person switches off is off by their word, and in doubt where they say no.
      if (event.event === "answered" && from.state.kind === "energised" && from.state.step.step === "ask-manual-off")
        return to.kind === "ended" && to.output === "off" && !event.yes;
      const left = energisedFeeds(from.state).filter((feed) => !energisedFeeds(to).includes(feed));
      return left.some((feed) => !(event.event === "output" && event.feed === feed && event.state === "off"));
    });
    expect(lost.map(({ from, event }) => said(from, event))).toEqual([]);
  });

  test("asks for nothing but the cut once it has ended, and energises nothing while cutting", () => {
    const asked = edges.flatMap(({ from, effects }) =>
      effects.map((effect) => ({ kind: from.state.kind, effect: effect.effect })),
    );
    expect(asked.filter(({ kind, effect }) => kind === "ended" && effect !== "cut")).toEqual([]);
    expect(
      asked.filter(({ kind, effect }) => kind === "cutting" && (effect === "output-on" || effect === "configure")),
    ).toEqual([]);
  });

  test("keeps the trip it was cut for", () => {
    const changed = edges.filter(({ from: { state }, to }) => {
      if (state.kind === "ended") return to.kind !== "ended" || to.trip !== state.trip || to.ended !== state.ended;
      return state.kind === "cutting" && to.kind === "ended" && to.trip !== state.trip;
    });
    expect(changed.map(({ from, event }) => said(from, event))).toEqual([]);
  });

  test("ends after a stop and the proof of the cut", () => {
    const open = nodes.filter(({ state, nowMs }) => {
      let at = advance(plan, state, { event: "stop", atMs: nowMs + 1, by: "the key" }).state;
      at = advance(plan, at, {
        event: "why-off",
        atMs: nowMs + 1,
        feed: feedAsked(at),
        protection: null,
        because: "",
      }).state;
      at = advance(plan, at, { event: "cut-done", atMs: nowMs + 2, output: "off", because: "read back" }).state;
      // Whoever may have switched a feed on by hand is asked for each, and says that it is off.
      for (let left = plan.feeds.length; left > 0 && openQuestion(at) !== null; left--)
        at = advance(plan, at, { event: "answered", atMs: nowMs + 3, question: at.ledger.questions, yes: true }).state;
      return at.kind !== "ended";
    });
    expect(open.map((node) => said(node, { event: "stop" }))).toEqual([]);
  });

  test("ends by time alone, but where a person is asked with nothing on", () => {
    const open = nodes.filter(({ state, nowMs }) => {
      let at: PlanState = state;
      for (let ms = 500; ms < 100_000 && at.kind !== "ended"; ms += 500)
        at = advance(plan, at, { event: "tick", atMs: nowMs + ms }).state;
      return at.kind !== "ended" && at.kind !== "preparing" && !(at.kind !== "energised" && openQuestion(at) !== null);
    });
    expect(open.map((node) => said(node, { event: "time" }))).toEqual([]);
  });
});

const withSupply = (live: readonly LiveFeed[]): LiveFeed[] => live.filter((each) => !each.manual);

const feedAsked = (state: PlanState): string => (state.kind === "asking-why" ? state.feed : "");

/** Seconds of 20 ms readings of a dead feed, all others as they should be, until the cut. */
function secondsToCut(plan: Plan, node: Node, feed: string): number {
  let at = node.state;
  for (let ms = 20; ms <= 3000; ms += 20) {
    if (at.kind !== "energised") return Number.NaN;
    const atMs = node.nowMs + ms;
    for (const live of at.energised) {
      const { volts } = live.setting;
      const healthy = {
        event: "reading",
        atMs,
        reading: {
          feed: live.feed,
          queriedAtMs: atMs - 1,
          atMs,
          volts: { kind: "value", volts },
          amps: { kind: "value", amps: 0.001 },
          mode: "cv",
          together: true,
        },
      } as const;
      const { state, effects } = advance(plan, at, live.feed === feed ? shorted(feed, live, atMs) : healthy);
      const over = plan.inject === undefined ? ["cut"] : ["cut", "output-off"];
      if (effects.some((each) => over.includes(each.effect))) return ms / 1000;
      at = state;
      if (at.kind !== "energised") return Number.NaN;
    }
  }
  return Number.POSITIVE_INFINITY;
}
