import { describe, expect, test } from "vitest";
import { loadScenario, scenarioNames } from "../../src/simulator/load-scenario.ts";
import { SimulatedBoard } from "../../src/simulator/simulated-board.ts";
import { supplyDefaults } from "../../src/simulator/supply-defaults.ts";

/** The sixteen kinds of board the simulator must know, and the two shapes of bench. */
const named = [
  "open-input",
  "dead-short",
  "partial-short",
  "shorted-high-side",
  "back-feed",
  "reversed-leads",
  "start-loop",
  "retrying-visible",
  "retrying-invisible",
  "standby-only",
  "standby-missing-feed",
  "partly-up",
  "core-alive",
  "normal",
  "healthy-creep",
  "leaking-creep",
  "intermittent",
  "single-feed",
];

/** Switches the feeds on in their order at their first limits; the 12 V feeds' total amps each 5 ms after that. */
async function powered(name: string, ms: number, changes: { limitAmps?: number } = {}) {
  const { scenario, board } = await loadScenario(name);
  const bench = new SimulatedBoard({
    scenario,
    board,
    traits: { ...supplyDefaults, ...scenario.supply },
    seed: 1,
    startMs: 0,
  });
  for (const feed of bench.feeds) {
    const entry = board?.feeds[feed.name];
    feed.stage.setVolts = feed.circuit.spec.nominalVolts;
    feed.stage.limitAmps = changes.limitAmps ?? entry?.firstAmps ?? entry?.limitAmps ?? 1;
    bench.switchOutput(feed.name, "on", "test");
    bench.advanceTo(bench.atMs + 100);
  }
  const startMs = bench.atMs;
  const amps: number[] = [];
  while (bench.atMs < startMs + ms) {
    bench.advanceTo(bench.atMs + 5);
    amps.push(
      bench.feeds
        .filter((feed) => feed.circuit.spec.nominalVolts > 5)
        .reduce((sum, feed) => sum + feed.circuit.leadAmps, 0),
    );
  }
  return { bench, amps, scenario, board };
}

const mean = (values: readonly number[]): number => values.reduce((sum, each) => sum + each, 0) / values.length;

test("the named scenarios are all there", async () => {
  expect(await scenarioNames()).toEqual(expect.arrayContaining(named));
});

const settling = (await scenarioNames()).filter((name) =>
  /^(open|standby|partly|core|normal|single|healthy|latched)/.test(name),
);

describe("draws that settle stand inside the board's own band", () => {
  test.each(settling)("%s", async (name) => {
    const { amps, scenario, board } = await powered(name, 3000);
    const { host, fans } = scenario.conditions;
    const idle = board?.idleAmps.find(({ when }) => (when.host ?? host) === host && (when.fans ?? fans) === fans);
    const band = idle?.bands[scenario.expected.class];
    if (band === undefined) throw new Error(`no band for ${scenario.expected.class}`);
    const settled = mean(amps.slice(-200));
    expect(settled).toBeGreaterThanOrEqual(band[0]);
    expect(settled).toBeLessThan(band[1]);
    // Clear of both ends, so that a meter of 2 mA can tell.
    if (scenario.expected.class !== "open-input")
      expect(Math.min(settled - band[0], band[1] - settled)).toBeGreaterThan(0.004);
  });
});

describe("what the other scenarios do", () => {
  test("no healthy board needs more than its first limits, none dwells", async () => {
    for (const name of ["normal", "single-feed", "healthy-creep", "core-alive", "partly-up", "standby-only"]) {
      const { bench } = await powered(name, 1500);
      for (const feed of Object.values(bench.truth().feeds)) {
        expect(feed.limitedMs, name).toBeLessThan(100);
        expect(feed.longestDwellMs, name).toBeLessThan(100);
      }
    }
  });

  test("start-loop loops at its first limit and starts at the board's highest", async () => {
    const low = await powered("start-loop", 1000);
    const falls = low.amps.filter((each, index) => each < 0.2 && (low.amps[index - 1] ?? 0) > 1).length;
    expect(falls).toBeGreaterThan(3);
    const high = await powered("start-loop", 1500, { limitAmps: 5 });
    expect(mean(high.amps.slice(-100))).toBeGreaterThan(1.9);
    expect(mean(high.amps.slice(-100))).toBeLessThan(3);
  });

  test("retrying-visible pulses each 0.5 s with the supply in constant voltage", async () => {
    const { amps, bench } = await powered("retrying-visible", 5000);
    const rises = amps.flatMap((each, index) => (each > 1.5 && (amps[index - 1] ?? 9) < 1 ? [index * 5] : []));
    expect(rises.length).toBeGreaterThanOrEqual(9);
    for (let each = 1; each < rises.length; each++)
      expect((rises[each] ?? 0) - (rises[each - 1] ?? 0)).toBeCloseTo(500, -1);
    expect(bench.truth().feeds["aux"]?.limiting).toBe(false);
  });

  test("healthy creep is 5 % and flattens; a leaking one grows faster and faster", async () => {
    const healthy = await powered("healthy-creep", 180_000);
    const leaking = await powered("leaking-creep", 30_000);
    const at = (amps: number[], seconds: number): number => mean(amps.slice(seconds * 200 - 100, seconds * 200 + 100));
    expect(at(healthy.amps, 170) / at(healthy.amps, 1)).toBeCloseTo(1.047, 2);
    expect(at(healthy.amps, 60) - at(healthy.amps, 1)).toBeGreaterThan(
      2 * (at(healthy.amps, 170) - at(healthy.amps, 110)),
    );
    expect(at(leaking.amps, 25) - at(leaking.amps, 15)).toBeGreaterThan(
      1.4 * (at(leaking.amps, 15) - at(leaking.amps, 5)),
    );
  }, 60_000);

  test("a shorted high side puts more than a volt on the core at 12 V, and less at the touch", async () => {
    const full = await powered("shorted-high-side", 500);
    expect(full.bench.truth().maxCoreVolts).toBeGreaterThan(1);
    const { scenario, board } = await loadScenario("shorted-high-side");
    const touch = new SimulatedBoard({ scenario, board, traits: supplyDefaults, seed: 1, startMs: 0 });
    touch.feed("aux").stage.setVolts = 0.9;
    touch.feed("aux").stage.limitAmps = 0.3;
    touch.switchOutput("aux", "on", "test");
    touch.advanceTo(500);
    expect(touch.truth().maxCoreVolts).toBeLessThan(0.9);
    expect(touch.truth().feeds["aux"]?.energyJoules).toBeLessThan(0.1);
  });

  test("back-feed lifts a feed that is off above 0.3 V at a touch of the other", async () => {
    const { scenario, board } = await loadScenario("back-feed");
    const bench = new SimulatedBoard({ scenario, board, traits: supplyDefaults, seed: 1, startMs: 0 });
    bench.feed("slot3v3").stage.setVolts = 0.8;
    bench.feed("slot3v3").stage.limitAmps = 0.1;
    bench.switchOutput("slot3v3", "on", "test");
    bench.advanceTo(300);
    expect(bench.truth().feeds["slot12"]?.boardVolts).toBeGreaterThan(0.3);
    expect(bench.truth().feeds["aux"]?.boardVolts).toBeLessThan(0.01);
  });

  test("reversed leads stand at a diode's voltage whatever the limit", async () => {
    for (const limitAmps of [0.3, 1]) {
      const { bench } = await powered("reversed-leads", 300, { limitAmps });
      expect(bench.truth().feeds["in12"]?.boardVolts).toBeCloseTo(0.61, 1);
      expect(bench.truth().feeds["in12"]?.limiting).toBe(true);
    }
  });

  test("an intermittent draw jumps between two levels at times without a period", async () => {
    const { amps } = await powered("intermittent", 10_000);
    const jumps = amps
      .flatMap((each, index) => (index > 0 && Math.abs(each - (amps[index - 1] ?? 0)) > 0.2 ? [index * 5] : []))
      .filter((at) => at > 500);
    const gaps = jumps.slice(1).map((at, index) => at - (jumps[index] ?? 0));
    expect(gaps.length).toBeGreaterThan(10);
    expect(Math.max(...gaps) / Math.min(...gaps)).toBeGreaterThan(3);
  });
});

test("a scenario that is not there is answered with those that are; a misspelt key with its path", async () => {
  await expect(loadScenario("nosuch")).rejects.toMatchObject({
    code: "bad-input",
    message: expect.stringContaining("open-input"),
  });
  await expect(loadScenario("scenarios/boards/kestrel-k2.json")).rejects.toMatchObject({
    code: "bad-input",
    message: expect.stringContaining("title"),
  });
});
