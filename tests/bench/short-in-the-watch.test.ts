import { expect, test } from "vitest";
import { loadScenario } from "../../src/simulator/load-scenario.ts";
import { SimulatedBench } from "./simulated-bench.ts";

/** A card with three feeds whose auxiliary one becomes 0.35 Ω eight seconds into its watch. */
async function cardThatShorts(afterMs: number) {
  const { scenario, board } = await loadScenario("core-alive");
  const { aux } = scenario.feeds;
  if (aux === undefined) throw new Error("the scenario has no aux");
  return {
    ...scenario,
    ...(board === null ? {} : { board }),
    feeds: {
      ...scenario.feeds,
      aux: { ...aux, loads: [...aux.loads, { load: "late-short" as const, ohms: 0.35, afterMs, fromVolts: 5 }] },
    },
  };
}

for (const { latencyMs, afterMs } of [
  { latencyMs: 12, afterMs: 8000 },
  { latencyMs: 60, afterMs: 8000 },
  { latencyMs: 12, afterMs: 3500 },
])
  test(`a short ${afterMs} ms into the watch of three feeds is cut and called one, an answer every ${latencyMs} ms`, async () => {
    const bench = await SimulatedBench.start({
      scenario: await cardThatShorts(afterMs),
      traits: { latencyMs, latencyJitterMs: 4 },
    });
    try {
      const { outcome, verdict } = await bench.run({ watchSeconds: 15 });
      expect(outcome).toMatchObject({ ended: "board-stopped", output: "off", trip: { feed: "aux", board: true } });
      expect(["dead-short", "overload"]).toContain(verdict.class);
      expect(verdict.candidates.map((each) => each.class)).not.toContain("core-alive");
    } finally {
      await bench.close();
    }
  });
