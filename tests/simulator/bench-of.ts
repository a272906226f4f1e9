import { ScenarioFile } from "../../shared/files/scenario-file.ts";
import type { SupplyTraits } from "../../shared/files/supply-traits.ts";
import { SimulatedBoard } from "../../src/simulator/simulated-board.ts";
import { supplyDefaults } from "../../src/simulator/supply-defaults.ts";

/** A board of one feed, "in", on an almost ideal supply unless `traits` say otherwise; its clock begins at 0. */
export function benchOf(feed: Record<string, unknown>, traits: SupplyTraits = {}): SimulatedBoard {
  const scenario = ScenarioFile.parse({
    version: 1,
    title: "one feed",
    feeds: { in: { nominalVolts: 12, inputFarads: 0.001, leakOhms: 1e8, ...feed } },
    expected: { class: "cannot-tell", why: "a test of the physics" },
  });
  return new SimulatedBoard({
    scenario,
    board: null,
    traits: {
      ...supplyDefaults,
      riseMs: 0.1,
      outputFarads: 1e-6,
      limitDelayMs: 0,
      bleedOhms: 1e6,
      sinkAmps: 0,
      ...traits,
    },
    seed: 1,
    startMs: 0,
  });
}

/** Switches feed "in" on. */
export function switchOn(bench: SimulatedBoard, volts: number, limitAmps: number): void {
  const { stage } = bench.feed("in");
  stage.setVolts = volts;
  stage.limitAmps = limitAmps;
  bench.switchOutput("in", "on", "test");
}

/** Advances in steps of `stepMs` until `test` holds; the time when it first did, to within a step. */
export function timeUntil(bench: SimulatedBoard, test: () => boolean, stepMs: number, mostMs: number): number {
  for (let atMs = bench.atMs + stepMs; atMs < mostMs; atMs += stepMs) {
    bench.advanceTo(atMs);
    if (test()) return atMs;
  }
  throw new Error(`not within ${mostMs} ms`);
}

export const truthOf = (bench: SimulatedBoard) => {
  const truth = bench.truth().feeds["in"];
  if (truth === undefined) throw new Error("no feed");
  return truth;
};
