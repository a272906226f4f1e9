import { describe, expect, test } from "vitest";
import { junctionLoad, type Load, type ModelRun, resistor, runOnModel } from "./bench-model.ts";
import { kestrelCold, kestrelPlan } from "./example-plan.ts";
import { healthyFeeds } from "./healthy-feeds.ts";

/** The auxiliary feed of an otherwise healthy board with this load, looked at below 1 V. */
function touched(load: Load, { intervalMs = 10, cold = kestrelCold, farads = 0.002, stepAmps = 0.001 } = {}): ModelRun {
  const plan = kestrelPlan({ readIntervalMs: intervalMs, cold, options: { watchSeconds: 1 }, supply: { stepAmps } });
  return runOnModel({
    plan,
    intervalMs,
    stepAmps,
    feeds: { ...healthyFeeds(), aux: { farads, leadOhms: 0.05, load } },
    untilMs: 20_000,
  });
}

const highestAuxVolts = (run: ModelRun): number => run.channels["aux"]?.mostVolts ?? Number.NaN;

describe("the look below 1 V", () => {
  // Thresholds 0.5 Ω, 100 Ω and 1 kΩ: common practice, no source.
  test.each([5, 50, 100])("calls 0.05, 0.3 and 0.45 Ω a dead short and stops, a reading every %d ms", (intervalMs) => {
    for (const ohms of [0.05, 0.3, 0.45]) {
      const run = touched(resistor(ohms), { intervalMs });
      expect(run.outcome).toMatchObject({
        ended: "board-stopped",
        output: "off",
        reachedStage: "touch",
        trip: { rule: "dead-short", feed: "aux", board: true },
      });
      expect(run.touchJoules["aux"]).toBeLessThan(0.1);
      expect(highestAuxVolts(run)).toBeLessThan(1);
    }
  });

  test.each([5, 50, 100, 300])(
    "puts at most 0.1 J into anything that conducts, a reading every %d ms",
    (intervalMs) => {
      for (const load of [resistor(1), resistor(2.5), resistor(5), junctionLoad(0.6, 0.05), junctionLoad(0.3, 0.1)]) {
        const run = touched(load, { intervalMs });
        expect(run.outcome).toMatchObject({ ended: "board-stopped", reachedStage: "touch" });
        expect(run.touchJoules["aux"]).toBeLessThan(0.1);
        expect(highestAuxVolts(run)).toBeLessThan(1);
      }
    },
  );

  test("tells a resistor from a junction by two limits, 0.2 and 0.4 A", () => {
    const ohmic = touched(resistor(1.5));
    expect(ohmic.outcome.trip).toMatchObject({ rule: "partial-short", feed: "aux" });
    expect(ohmic.outcome.trip?.because).toContain("voltage follows the current");
    const limits = ohmic.effects.flatMap(({ effect }) =>
      effect.effect === "configure" && effect.feed === "aux" ? [effect.setting.limitAmps] : [],
    );
    expect(limits).toEqual([0.3, 0.2, 0.4]);
    const junction = touched(junctionLoad(0.6, 0.05));
    expect(junction.outcome.trip).toMatchObject({ rule: "junction", feed: "aux", board: true });
    expect(junction.outcome.trip?.because).toMatch(/^Check the polarity of the leads first/);
  });

  test("stops at 5 and 50 Ω, which do not reach the limit, as a partial short", () => {
    for (const ohms of [5, 50])
      expect(touched(resistor(ohms)).outcome.trip).toMatchObject({
        rule: "partial-short",
        feed: "aux",
        stage: "touch",
      });
  });

  test("goes on at 200 Ω only where the cold reading says the same", () => {
    expect(touched(resistor(200)).outcome.trip).toMatchObject({ rule: "partial-short" });
    const { aux: _measured, ...without } = kestrelCold;
    expect(touched(resistor(200), { cold: without }).outcome.trip?.because).toContain("no cold reading");
    const passed =
      touched(resistor(200), { cold: { ...kestrelCold, aux: 310 } }).state.ledger.touched["aux"]?.ohms ?? Number.NaN;
    // One step of 1 mA in 4.5 mA is as near as this supply sees it.
    expect(Math.abs(passed - 200)).toBeLessThan(50);
  });

  test("does not take 5 mF that charge for a short", () => {
    expect(touched(resistor(12_000), { farads: 0.005 }).state.ledger.touched["aux"]).toMatchObject({ ohms: null });
  });

  test("measures the steps of a supply that prints finer than it steps: its one count of 1 mA is no 900 Ω", () => {
    const plan = kestrelPlan({
      cold: {},
      options: { watchSeconds: 1 },
      supply: { stepAmps: 0.0001, offsetAmps: null },
    });
    const run = (counts: (amps: number) => number) =>
      runOnModel({
        plan,
        stepAmps: 0.0001,
        feeds: healthyFeeds(),
        untilMs: 20_000,
        spoilReading: (reading) =>
          reading.amps.kind === "value"
            ? { ...reading, amps: { kind: "value", amps: counts(reading.amps.amps) } }
            : reading,
      });
    const coarse = run((amps) => 0.001 * Math.max(1, Math.round(amps / 0.001)));
    expect(coarse.outcome.trip).toBeNull();
    expect(coarse.state.ledger.touched["aux"]?.seesShortsBelowOhms).toBeCloseTo(300, 6);
    // A supply that does step by what it prints shows that 1.1 mA flow: 820 Ω (arithmetic).
    expect(run((amps) => Math.max(0.0011, amps)).outcome.trip).toMatchObject({ rule: "partial-short" });
  });

  test("says below which ohms it sees shorts: 0.9 V over three steps or the supply's offset", () => {
    // 0.9 V / max(3 · 1 mA, 2 mA) = 300 Ω; with 10 mA steps 30 Ω (arithmetic).
    expect(touched(resistor(12_400)).state.ledger.touched["aux"]?.seesShortsBelowOhms).toBeCloseTo(300, 6);
    expect(touched(resistor(12_400), { stepAmps: 0.01 }).state.ledger.touched["aux"]?.seesShortsBelowOhms).toBeCloseTo(
      30,
      6,
    );
  });

  test.each([0.3, 12_400])("takes no longer than 1.5 s, however slow the meter, at %d Ω", (ohms) => {
    const { effects } = touched(resistor(ohms), { intervalMs: 300 });
    const onMs =
      effects.find(({ effect }) => effect.effect === "output-on" && effect.feed === "aux")?.atMs ?? Number.NaN;
    const off = effects.find(
      ({ atMs, effect }) => atMs > onMs && (effect.effect === "output-off" || effect.effect === "cut"),
    );
    expect((off?.atMs ?? Number.NaN) - onMs).toBeLessThanOrEqual(1510);
  });

  test("a supply that does not deliver is a fault of the bench", () => {
    const plan = kestrelPlan();
    const run = runOnModel({
      plan,
      feeds: healthyFeeds(),
      spoilReading: (reading) => ({
        ...reading,
        volts: { kind: "value", volts: 0.01 },
        amps: { kind: "value", amps: 0 },
      }),
    });
    expect(run.outcome).toMatchObject({ ended: "failed", output: "off", trip: { rule: "collapse", board: false } });
  });
});

describe("the check before it", () => {
  test("volts on a feed with nothing on end the run with nothing energised", () => {
    const run = runOnModel({
      plan: kestrelPlan(),
      feeds: healthyFeeds(),
      spoilReading: (reading) =>
        reading.feed === "slot12" ? { ...reading, volts: { kind: "value", volts: 1.2 } } : reading,
    });
    expect(run.outcome).toMatchObject({
      ended: "failed",
      output: "off",
      reachedStage: "check",
      trip: { rule: "back-feed", feed: "slot12", board: false },
    });
    expect(run.effects.map(({ effect }) => effect.effect)).toEqual(["finish"]);
  });

  test("a charge that runs off is waited for", () => {
    const run = runOnModel({
      plan: kestrelPlan({ options: { watchSeconds: 1 } }),
      feeds: healthyFeeds(),
      spoilReading: (reading) =>
        reading.feed === "aux" && reading.atMs < 9600
          ? { ...reading, volts: { kind: "value", volts: 2 * Math.exp(-reading.atMs / 5000) } }
          : reading,
    });
    expect(run.effects[0]?.atMs).toBeGreaterThan(9000);
    expect(run.outcome).toMatchObject({ ended: "as-planned" });
  });

  test("a feed that cannot be read is not energised", () => {
    const run = runOnModel({
      plan: kestrelPlan(),
      feeds: healthyFeeds(),
      spoilReading: (reading) => (reading.feed === "aux" ? null : reading),
    });
    expect(run.outcome).toMatchObject({ ended: "failed", output: "off", trip: { rule: "stale", feed: "aux" } });
    expect(run.effects.map(({ effect }) => effect.effect)).toEqual(["finish"]);
  });

  test.each([
    ["volts", { setVolts: 1.2 }],
    ["limit", { limitAmps: 1 }],
    ["over-voltage level", { overVolts: 13.2 }],
    ["no over-voltage level", { overVolts: null }],
  ])("a read-back of other %s than asked ends the run with nothing energised", (_what, wrong) => {
    const run = runOnModel({
      plan: kestrelPlan(),
      feeds: healthyFeeds(),
      spoil: (effect, atMs) =>
        effect.effect === "configure"
          ? {
              event: "configured",
              atMs,
              feed: effect.feed,
              setVolts: effect.setting.volts,
              limitAmps: effect.setting.limitAmps,
              overVolts: effect.setting.overVolts,
              ...wrong,
            }
          : null,
    });
    expect(run.outcome).toMatchObject({
      ended: "failed",
      output: "off",
      trip: { rule: "command-failed", board: false },
    });
    expect(run.effects.map(({ effect }) => effect.effect)).toEqual(["configure", "finish"]);
  });
});

describe("back-feed", () => {
  test("volts on another feed during a touch stop the run", () => {
    const run = runOnModel({
      plan: kestrelPlan(),
      feeds: healthyFeeds(),
      // 12 V planes must stay under 0.3 V with 3.3 V alone (common practice, no source).
      spoilReading: (reading) =>
        reading.feed === "aux" && reading.atMs > 60 ? { ...reading, volts: { kind: "value", volts: 0.55 } } : reading,
    });
    expect(run.outcome).toMatchObject({
      ended: "board-stopped",
      output: "off",
      trip: { rule: "back-feed", feed: "aux", stage: "touch", board: true },
    });
  });
});
