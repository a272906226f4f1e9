import { readFile } from "node:fs/promises";
import { describe, expect, test } from "vitest";
import { ScenarioFile, type ScenarioLoad } from "../../shared/files/scenario-file.ts";
import { SimulatedBench } from "./simulated-bench.ts";

/** Answers so slow that several readings come while a limit is being changed; much slower, the test no longer fits its energy. */
const LATENCIES_MS = [2, 12, 20, 24];

describe("two limits below 1 V tell a resistor from a junction, however long a setting takes", () => {
  test.each(LATENCIES_MS)("reversed leads are a junction at %i ms", async (latencyMs) => {
    const bench = await SimulatedBench.start({
      scenario: "reversed-leads",
      dialect: "channel-list",
      traits: { latencyMs, latencyJitterMs: latencyMs / 4 },
    });
    try {
      const { outcome, verdict } = await bench.run({ watchSeconds: 3 });
      expect(outcome.trip?.rule).toBe("junction");
      expect(verdict).toMatchObject({ class: "overload", sub: "junction" });
    } finally {
      await bench.close();
    }
  });
});

/** The one feed of reversed leads, with this load in their place. */
async function withLoad(load: ScenarioLoad): Promise<ScenarioFile> {
  const raw = JSON.parse(await readFile("scenarios/reversed-leads.json", "utf8"));
  const board = JSON.parse(await readFile(`scenarios/${raw.board}`, "utf8"));
  return ScenarioFile.parse({ ...raw, board, feeds: { in12: { ...raw.feeds.in12, loads: [load] } } });
}

describe("a look below 1 V puts at most 0.1 J into the board, also where the supply is too slow for a second one", () => {
  const loads: ScenarioLoad[] = [
    { load: "resistor", ohms: 1 },
    { load: "resistor", ohms: 2.5 },
    { load: "junction", volts: 0.6, ohms: 0.05 },
  ];
  test.each([32, 50, 80])("%i ms an answer", async (latencyMs) => {
    for (const load of loads) {
      const bench = await SimulatedBench.start({
        scenario: await withLoad(load),
        dialect: "channel-list",
        traits: { latencyMs, latencyJitterMs: latencyMs / 4 },
      });
      try {
        const { outcome } = await bench.run({ watchSeconds: 3 });
        expect(outcome).toMatchObject({ ended: "board-stopped", output: "off", reachedStage: "touch" });
        expect(bench.simulation.truth().feeds["in12"]?.energyJoules).toBeLessThanOrEqual(0.1);
      } finally {
        await bench.close();
      }
    }
  });
});
