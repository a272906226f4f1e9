import { expect, test } from "vitest";
import { SimulatedBench } from "./simulated-bench.ts";

/** One question at a time, three feeds: each is read every third time, but for the one that comes up. */
test.each([
  { latencyMs: 25, dialect: "numbered" as const },
  { latencyMs: 40, dialect: "channel-list" as const },
])(
  "a start that loops on a board with three feeds, $latencyMs ms a reading, is cut within a second",
  async ({ latencyMs, dialect }) => {
    const bench = await SimulatedBench.start({
      scenario: "start-loop",
      dialect,
      traits: { latencyMs, latencyJitterMs: latencyMs / 4 },
    });
    try {
      const { outcome } = await bench.run({ watchSeconds: 5 });
      expect(outcome.trip?.rule, outcome.trip?.because).toBe("start-loop");
      const { switchings = [] } = bench.simulation.truth().feeds["aux"] ?? {};
      const on = switchings.findLastIndex((each) => each.output === "on");
      const onMs = (switchings[on + 1]?.atMs ?? Number.POSITIVE_INFINITY) - (switchings[on]?.atMs ?? 0);
      expect(onMs).toBeLessThan(1000);
    } finally {
      await bench.close();
    }
  },
);
