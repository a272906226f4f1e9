import fc from "fast-check";
import { describe, expect, test } from "vitest";
import type { PlanEvent } from "../../shared/plan.ts";
import { advance } from "../../src/plan/machine/advance.ts";
import { energisedFeeds, initialState, type PlanState } from "../../src/plan/machine/machine-state.ts";
import { outcomeOf } from "../../src/plan/machine/outcome.ts";
import { converter, junctionLoad, resistor, runOnModel, together } from "./bench-model.ts";
import { kestrelPlan } from "./example-plan.ts";
import { healthyFeeds } from "./healthy-feeds.ts";
import { replay } from "./replay.ts";
import { alphabet, type Node } from "./walk.ts";

const plan = kestrelPlan({ options: { watchSeconds: 1, keepOn: true } });

/** Choices out of whatever may happen next, now and then out of thin air. */
const choices = fc.array(
  fc.record({ pick: fc.nat(200), lateMs: fc.constantFrom(0, 0, 0, 5, 40, 400, 3000), strangeTime: fc.boolean() }),
  { maxLength: 120 },
);

interface Played {
  events: PlanEvent[];
  states: PlanState[];
  asked: string[][];
}

function play(picks: readonly { pick: number; lateMs: number; strangeTime: boolean }[]): Played {
  let state = initialState(plan);
  let nowMs = 0;
  const played: Played = { events: [], states: [state], asked: [] };
  const step = (event: PlanEvent): void => {
    const result = advance(plan, state, event);
    state = result.state;
    played.events.push(event);
    played.states.push(state);
    played.asked.push(result.effects.map((each) => each.effect));
  };
  step({ event: "begin", atMs: 0 });
  for (const { pick, lateMs, strangeTime } of picks) {
    nowMs += lateMs;
    const node: Node = { state, nowMs, configured: {}, came: null };
    const options = alphabet(plan, node);
    // Two in three times what was asked for is answered, so that runs get somewhere.
    const wanted = options.filter(
      ({ event }) => (state.kind === "safe" && event === "configured") || event === "reading" || event === "output",
    );
    const from = pick % 3 === 0 || wanted.length === 0 ? options : wanted;
    const event = from[pick % from.length];
    if (event === undefined) continue;
    if (!strangeTime) nowMs = Math.max(nowMs, event.atMs);
    step(event);
  }
  return played;
}

describe("whatever the order of events", () => {
  test("nothing throws, nothing is energised after the end, and a trip stays", () => {
    fc.assert(
      fc.property(choices, (picks) => {
        const { states, asked } = play(picks);
        for (const [index, effects] of asked.entries()) {
          const [before, after] = [states[index], states[index + 1]];
          if (before === undefined || after === undefined) continue;
          if (before.kind === "ended") {
            expect(after.kind).toBe("ended");
            expect(effects.filter((each) => each !== "cut")).toEqual([]);
            expect(outcomeOf(after).trip).toEqual(outcomeOf(before).trip);
          }
          if (before.kind === "cutting") expect(effects).not.toContain("output-on");
          if (effects.includes("cut")) expect(effects[0]).toBe("cut");
          // Feeds leave the energised by being proved off or by the cut, never together by anything else.
          if (energisedFeeds(before).length > energisedFeeds(after).length + 1) expect(after.kind).toBe("cutting");
        }
      }),
      { numRuns: 300 },
    );
  });

  test("a replay of the record comes to the same state, with or without the ticks that decided nothing", () => {
    fc.assert(
      fc.property(choices, (picks) => {
        const { events, states, asked } = play(picks);
        expect(replay(plan, events)).toEqual(states.at(-1));
        const needed = events.filter(
          (event, index) =>
            event.event !== "tick" || states[index] !== states[index + 1] || (asked[index]?.length ?? 0) > 0,
        );
        expect(replay(plan, needed)).toEqual(states.at(-1));
      }),
      { numRuns: 150 },
    );
  });
});

describe("whatever hangs on the auxiliary feed", () => {
  const load = fc.oneof(
    fc.double({ min: 0.02, max: 20_000, noNaN: true }).map((ohms) => () => resistor(ohms)),
    fc.double({ min: 0.2, max: 0.8, noNaN: true }).map((volts) => () => junctionLoad(volts, 0.05)),
    fc
      .record({
        watts: fc.double({ min: 1, max: 100, noNaN: true }),
        rising: fc.double({ min: 4, max: 9, noNaN: true }),
        afterMs: fc.double({ min: 0, max: 200, noNaN: true }),
      })
      .map(
        ({ watts, rising, afterMs }) =>
          () =>
            together(resistor(12_400), converter(watts, [rising, rising - 0.4], afterMs)),
      ),
  );

  test("the run ends with the output off, at most 0.1 J below 1 V, and never a limit above the board's", () => {
    const short = kestrelPlan({ options: { watchSeconds: 0.5 } });
    fc.assert(
      fc.property(
        load,
        fc.double({ min: 0.0005, max: 0.004, noNaN: true }),
        fc.constantFrom(5, 20, 50),
        (make, farads, intervalMs) => {
          const run = runOnModel({
            plan: short,
            intervalMs,
            feeds: { ...healthyFeeds(), aux: { farads, leadOhms: 0.05, load: make() } },
            untilMs: 60_000,
          });
          expect(run.state.kind).toBe("ended");
          expect(run.outcome.output).toBe("off");
          expect(Object.values(run.channels).every((each) => !each.on)).toBe(true);
          expect(run.touchJoules["aux"] ?? 0).toBeLessThan(0.1);
          for (const { effect } of run.effects)
            if (effect.effect === "configure" && effect.feed === "aux")
              expect(effect.setting.limitAmps).toBeLessThanOrEqual(5);
        },
      ),
      { numRuns: 25 },
    );
  });
});
