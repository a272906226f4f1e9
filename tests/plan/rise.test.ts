import { describe, expect, test } from "vitest";
import { converter, type Load, type ModelFeed, resistor, runOnModel, together } from "./bench-model.ts";
import { kestrelCold, kestrelPlan, type PlanChanges } from "./example-plan.ts";
import { healthyFeeds } from "./healthy-feeds.ts";

const plan = (changes: PlanChanges = {}) =>
  kestrelPlan({ ...changes, options: { watchSeconds: 0.5, ...changes.options } });
/** The auxiliary feed alone: half a stage takes a third of the time. */
const auxAlone = (changes: PlanChanges = {}) => {
  const whole = plan(changes);
  return { ...whole, feeds: whole.feeds.filter((each) => each.feed === "aux") };
};
const withAux = (load: Load, farads = 0.002): Record<string, ModelFeed> => ({
  ...healthyFeeds(),
  aux: { farads, leadOhms: 0.05, load: together(resistor(12_400), load) },
});

/** From the auxiliary feed's last output-on to the cut. */
function msToCut(effects: { atMs: number; effect: { effect: string; feed?: string } }[]): number {
  const on =
    effects.filter(({ effect }) => effect.effect === "output-on" && effect.feed === "aux").at(-1)?.atMs ?? Number.NaN;
  return (effects.find(({ effect }) => effect.effect === "cut")?.atMs ?? Number.NaN) - on;
}

describe("a start the first limit of 3 A cannot give", () => {
  // Lock-outs 4.0/3.7, 7.5/7.0 and 9/8 V, capacitors 0.5–4 mF: common practice, no source. 3 A · 7 V = 21 W (arithmetic).
  const boards = [5, 100].flatMap((riseMs) =>
    [0.0005, 0.004].flatMap((farads) =>
      (
        [
          [4, 3.7],
          [7.5, 7],
          [9, 8],
        ] as [number, number][]
      ).map((lockOut) => ({ riseMs, farads, lockOut })),
    ),
  );

  test.each(boards)(
    "is cut within a second and the limit to try named: rise $riseMs ms, $farads F, lock-out $lockOut V",
    ({ riseMs, farads, lockOut }) => {
      for (const watts of [40, 60]) {
        const run = runOnModel({
          plan: auxAlone({ supply: { riseMs }, options: { watchSeconds: 3 } }),
          riseMs,
          feeds: withAux(converter(watts, lockOut, 5), farads),
        });
        expect(run.outcome).toMatchObject({
          ended: "board-stopped",
          output: "off",
          limitToTry: { feed: "aux", amps: 5 },
        });
        expect(["start-loop", "limiting"]).toContain(run.outcome.trip?.rule);
        expect(msToCut(run.effects)).toBeLessThan(1000);
      }
    },
  );

  test.each(boards)(
    "but one of 6 or 18 W starts without a trip: rise $riseMs ms, $farads F, lock-out $lockOut V",
    ({ riseMs, farads, lockOut }) => {
      for (const watts of [6, 18]) {
        const run = runOnModel({
          plan: auxAlone({ supply: { riseMs } }),
          riseMs,
          feeds: withAux(converter(watts, lockOut, 5), farads),
        });
        expect(run.outcome).toMatchObject({ ended: "as-planned", trip: null });
      }
    },
  );
});

describe("the ladder", () => {
  test("nobody to ask: the run ends and names the limit to try", () => {
    const run = runOnModel({ plan: plan(), feeds: withAux(converter(40, [7.5, 7], 5)) });
    expect(run.effects.filter(({ effect }) => effect.effect === "ask-raise").map(({ effect }) => effect)).toMatchObject(
      [{ feed: "aux", fromAmps: 3, toAmps: 5 }],
    );
    expect(run.outcome).toMatchObject({ ended: "board-stopped", raises: 0, limitToTry: { feed: "aux", amps: 5 } });
  });

  test("a yes: off for ten seconds, then the whole rise again at the next limit, and it starts", () => {
    const run = runOnModel({ plan: plan(), feeds: withAux(converter(40, [7.5, 7], 5)), answers: [true] });
    expect(run.outcome).toMatchObject({ ended: "as-planned", trip: null, raises: 1, limitToTry: null, output: "off" });
    const cutMs = run.effects.find(({ effect }) => effect.effect === "cut")?.atMs ?? Number.NaN;
    const next = run.effects.filter(({ atMs, effect }) => atMs > cutMs && effect.effect === "output-on");
    expect(next.map(({ effect }) => ("feed" in effect ? effect.feed : ""))).toEqual(["slot3v3", "slot12", "aux"]);
    expect((next[0]?.atMs ?? 0) - cutMs).toBeGreaterThanOrEqual(10_000);
    const limits = run.effects.flatMap(({ atMs, effect }) =>
      atMs > cutMs && effect.effect === "configure" && effect.feed === "aux" ? [effect.setting.limitAmps] : [],
    );
    expect(new Set(limits)).toEqual(new Set([5]));
  });

  test("a yes to a board that 5 A cannot start either: there is no further limit", () => {
    const run = runOnModel({ plan: plan(), feeds: withAux(converter(120, [7.5, 7], 5)), answers: [true, true] });
    expect(run.outcome).toMatchObject({ ended: "board-stopped", raises: 1, limitToTry: null, output: "off" });
    expect(run.effects.filter(({ effect }) => effect.effect === "ask-raise")).toHaveLength(1);
  });

  test("without a cold reading of the feed no raise is asked for, the limit is named", () => {
    const { aux: _measured, ...cold } = kestrelCold;
    const run = runOnModel({ plan: plan({ cold }), feeds: withAux(converter(40, [7.5, 7], 5)), answers: [true] });
    expect(run.effects.some(({ effect }) => effect.effect === "ask-raise")).toBe(false);
    expect(run.outcome).toMatchObject({ ended: "board-stopped", limitToTry: { feed: "aux", amps: 5 } });
  });

  test("a stop while the cut is proved calls the raise off", () => {
    const run = runOnModel({
      plan: plan(),
      feeds: withAux(converter(40, [7.5, 7], 5)),
      answers: [true],
      spoil: (effect, atMs) => (effect.effect === "cut" ? { event: "stop", atMs, by: "the key" } : null),
      at: [{ ms: 20_000, event: { event: "cut-done", atMs: 20_000, output: "off", because: "read back" } }],
    });
    expect(run.effects.some(({ effect }) => effect.effect === "ask-raise")).toBe(false);
    expect(run.outcome.raises).toBe(0);
  });
});

describe("a short that only shows at nominal", () => {
  const conductsAbove =
    (volts: number, ohms: number): Load =>
    (at) =>
      at > volts ? (at - volts) / ohms : 0;

  test("held under 2 V it names no limit to try", () => {
    const run = runOnModel({ plan: plan(), feeds: withAux(conductsAbove(1.2, 0.05)) });
    // Seen in the hold below lock-out already.
    expect(run.outcome).toMatchObject({
      ended: "board-stopped",
      reachedStage: "hold-low",
      limitToTry: null,
      trip: { rule: "limiting", stage: "hold-low" },
    });
  });

  test("held at 5 V after a clean touch it may be a limit too low as well", () => {
    const run = runOnModel({ plan: plan(), feeds: withAux(conductsAbove(4.5, 0.2)) });
    expect(run.outcome).toMatchObject({
      ended: "board-stopped",
      reachedStage: "rise",
      limitToTry: { feed: "aux", amps: 5 },
      trip: { rule: "limiting", stage: "rise" },
    });
    expect(msToCut(run.effects)).toBeLessThan(400);
  });

  test("that comes in the watch is cut, as limiting", () => {
    const late =
      (at: number): Load =>
      (volts, sinceOnMs) =>
        sinceOnMs > at ? volts / 0.1 : 0;
    const run = runOnModel({ plan: kestrelPlan({ options: { watchSeconds: 6 } }), feeds: withAux(late(4000)) });
    expect(run.outcome).toMatchObject({
      ended: "board-stopped",
      output: "off",
      limitToTry: null,
      trip: { rule: "limiting", stage: "watch", feed: "aux" },
    });
  });
});
