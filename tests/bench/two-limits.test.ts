import { describe, expect, test } from "vitest";
import { SimulatedBench } from "./simulated-bench.ts";

/** Answers so slow that several readings come while a limit is being changed; much slower, the test no longer fits its energy. */
const LATENCIES_MS = [2, 12, 24, 28];

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
