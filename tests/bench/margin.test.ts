import { describe, expect, test } from "vitest";
import type { ScenarioFile } from "../../shared/files/scenario-file.ts";
import { currentExponentOf } from "../../src/analysis/current-exponent.ts";
import { loadScenario } from "../../src/simulator/load-scenario.ts";
import { type RunReport, SimulatedBench } from "./simulated-bench.ts";

const exponentOf = ({ outcome }: RunReport): number =>
  currentExponentOf(
    (outcome.steps ?? []).map(({ volts, amps, standardAmps }) => ({ volts, amps, standardU: standardAmps })),
  )?.exponent ?? Number.NaN;

/** The single feed with this load in place of its own. */
async function single(load: ScenarioFile["feeds"][string]["loads"][number]): Promise<ScenarioFile> {
  const { scenario, board } = await loadScenario("single-feed");
  const feeds = Object.entries(scenario.feeds).map(([name, feed]) => [name, { ...feed, loads: [load] }]);
  return { ...scenario, ...(board === null ? {} : { board }), feeds: Object.fromEntries(feeds), rails: {} };
}

describe("a margin run", () => {
  test("steps the feed with the highest limit within its tolerance, and the board never sees less nor more", async () => {
    const bench = await SimulatedBench.start({ scenario: "core-alive", traits: { latencyMs: 30, latencyJitterMs: 8 } });
    try {
      let least = Number.POSITIVE_INFINITY;
      let stepping = false;
      const report = await bench.run({
        watchSeconds: 1,
        task: { task: "margin" },
        onEvent: (event) => {
          if (event.event === "configured" && event.atMs > 3000) stepping = true;
          const { boardVolts = 0, output } = bench.simulation.truth().feeds["aux"] ?? {};
          if (stepping && output === "on" && boardVolts > 8) least = Math.min(least, boardVolts);
        },
      });
      expect(report.outcome).toMatchObject({ ended: "as-planned", output: "off", trip: null, reachedStage: "off" });
      const aux = report.prepared.plan.feeds.find((each) => each.feed === "aux");
      if (aux === undefined) throw new Error("the plan has no aux");
      const [low, high] = [12 * (1 + aux.tolerance[0]), 12 * (1 + aux.tolerance[1])];
      const { maxSetVolts = 0, maxBoardVolts = 0 } = bench.simulation.truth().feeds["aux"] ?? {};
      expect(maxSetVolts).toBeLessThanOrEqual(Math.min(high, aux.maxVolts));
      expect(maxBoardVolts).toBeLessThanOrEqual(aux.maxVolts);
      expect(least).toBeGreaterThanOrEqual(low - 0.01);
      expect(report.outcome.steps).toHaveLength(5);
      expect(report.outcome.steps?.every((each) => each.settled)).toBe(true);
      // Converters hold their power: amps fall as volts rise; with 12 mA of bias beside them a little under 1.
      expect(exponentOf(report)).toBeGreaterThan(0.85);
      expect(exponentOf(report)).toBeLessThan(1.05);
      // The steps are no part of the draw that is judged.
      expect(report.verdict.features.plateauAmps).toBeLessThan(3);
    } finally {
      await bench.close();
    }
  });

  test("tells a constant current by its exponent, 0 (arithmetic)", async () => {
    const bench = await SimulatedBench.start({ scenario: await single({ load: "bias", amps: 0.6, fromVolts: 8 }) });
    try {
      const report = await bench.run({ watchSeconds: 3, task: { task: "margin", steps: 3 } });
      expect(report.outcome.steps, report.outcome.trip?.because).toHaveLength(3);
      expect(Math.abs(exponentOf(report))).toBeLessThan(0.05);
    } finally {
      await bench.close();
    }
  });

  test("is refused where the longest on-time does not hold it, with the figures", async () => {
    const bench = await SimulatedBench.start({ scenario: "core-alive", traits: { latencyMs: 30, latencyJitterMs: 8 } });
    try {
      const wish = { watchSeconds: 30, task: { task: "margin" as const }, cooler: "bare" as const };
      await expect(bench.prepare(wish)).rejects.toThrow(/maxOnSeconds is 15 s.*37.5 s/);
      await expect(bench.prepare({ task: { task: "margin", feed: "nope" } })).rejects.toThrow(/feed is nope/);
    } finally {
      await bench.close();
    }
  });

  test("is cut by the same trips: a key between two steps", async () => {
    const bench = await SimulatedBench.start({ scenario: "core-alive", traits: { latencyMs: 30, latencyJitterMs: 8 } });
    let cut = false;
    try {
      const { outcome } = await bench.run({
        watchSeconds: 1,
        task: { task: "margin" },
        onEvent: (event) => {
          if (cut || event.event !== "configured" || event.setVolts > 11.9 || event.setVolts < 8) return;
          cut = true;
          bench.clock.after(1, () => bench.bench.cut("Ctrl-C"));
        },
      });
      expect(outcome).toMatchObject({ ended: "stopped-by-person", output: "off", trip: { stage: "margin" } });
      expect(Object.values(bench.simulation.truth().feeds).map((each) => each.output)).toEqual(["off", "off", "off"]);
    } finally {
      await bench.close();
    }
  });
});
