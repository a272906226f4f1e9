import { describe, expect, test } from "vitest";
import { scenarioNames } from "../../src/simulator/load-scenario.ts";
import type { Dialect } from "../../src/simulator/simulated-supply.ts";
import type { Truth } from "../../src/simulator/truth.ts";
import { type RunReport, SimulatedBench } from "./simulated-bench.ts";

/** What must be true of every power-up, whatever the board: said by the simulator, not by the readings. */
export function mustBeSafe(truth: Truth, { prepared, outcome }: Pick<RunReport, "prepared" | "outcome">): void {
  expect(outcome.output).toBe("off");
  for (const [name, feed] of Object.entries(truth.feeds)) {
    const planned = prepared.plan.feeds.find((each) => each.feed === name);
    expect(feed.output, `${name} at the end`).toBe("off");
    if (planned === undefined) continue;
    expect(feed.maxSetLimitAmps, `${name}: limit set`).toBeLessThanOrEqual(planned.limitAmps + 1e-9);
    expect(feed.maxSetVolts, `${name}: volts set`).toBeLessThanOrEqual(planned.nominalVolts + 1e-9);
    expect(feed.longestDwellMs, `${name}: dwell at 4 to 11 V`).toBeLessThanOrEqual(planned.allowedLimitingMs + 200);
  }
  // A core behind a shorted switch must not see more than its own volts (design: the touch, under 1 V).
  expect(truth.maxCoreVolts).toBeLessThanOrEqual(1);
}

/** Shipped scenarios in one dialect on one transport get the verdict their files expect: all, or those at the places chosen. */
export async function scenarioMatrix(
  dialect: Dialect,
  transport: "tcp" | "pty",
  isChosen: (place: number) => boolean = () => true,
): Promise<void> {
  const names = (await scenarioNames()).filter((_, place) => isChosen(place));
  describe(`${dialect} supplies over ${transport}`, () => {
    test.each(names)("%s gets its verdict, and the board is none the worse", async (scenario) => {
      const bench = await SimulatedBench.start({ scenario, dialect, transport });
      try {
        // Boards to inject into have a shorted core, which the permit would refuse: here nobody has measured it.
        const report = await bench.run(scenario.startsWith("injection") ? { coldOhms: {} } : {});
        const { expected } = bench.simulation.scenario;
        const truth = bench.simulation.truth();
        mustBeSafe(truth, report);
        const { verdict, outcome } = report;
        const told = `${verdict.class} ${verdict.sub ?? ""}: ${verdict.because.join("; ")} | ${outcome.trip?.because ?? "no trip"}`;
        expect([expected.class, ...expected.also], told).toContain(verdict.class);
        if (expected.sub !== undefined) expect(verdict.sub, told).toBe(expected.sub);
        for (const candidate of expected.candidates) {
          expect(
            verdict.candidates.map((each) => each.class),
            told,
          ).toContain(candidate);
        }
        expect(outcome.trip?.rule, told).toBe(expected.trip);
        if (scenario === "dead-short" || scenario === "shorted-high-side") {
          const joules = Object.values(truth.feeds).reduce((sum, each) => sum + each.energyJoules, 0);
          expect(joules, "energy into the fault").toBeLessThanOrEqual(0.1);
        }
      } finally {
        await bench.close();
      }
    });
  });
}
