import { expect, test } from "vitest";
import { accuracyOf, foldRun } from "../../src/daemon/run/run-fold.ts";
import { soakFigures } from "../../src/verdict/soak-figures.ts";
import { SimulatedBench } from "./simulated-bench.ts";

const SLOW = { latencyMs: 150, latencyJitterMs: 30 };

test("a soak holds the board as long as asked for, and says how its draw drifted", async () => {
  const bench = await SimulatedBench.start({ scenario: "healthy-creep", traits: SLOW });
  try {
    const { outcome, header, events, verdict } = await bench.run({ watchSeconds: 60, task: { task: "soak" } });
    expect(outcome).toMatchObject({ ended: "as-planned", output: "off", trip: null });
    const { traces } = foldRun(header.plan, events, accuracyOf(header));
    const figures = soakFigures(traces, { askedSeconds: 60 });
    expect(figures.heldSeconds).toBeGreaterThan(58);
    expect(figures.heldSeconds).toBeLessThan(65);
    const [drift] = Object.values(figures.feeds);
    expect(drift?.driftAmpsPerMin).toBeGreaterThan(0);
    // A healthy climb flattens.
    expect(drift?.secondHalfAmpsPerMin ?? 1).toBeLessThan(drift?.firstHalfAmpsPerMin ?? 0);
    expect(verdict.class).not.toBe("creeping");
  } finally {
    await bench.close();
  }
});

test("a draw that climbs by itself ends a soak early", async () => {
  const bench = await SimulatedBench.start({ scenario: "leaking-creep", traits: SLOW });
  try {
    const { outcome } = await bench.run({ watchSeconds: 300, task: { task: "soak" } });
    expect(outcome).toMatchObject({ ended: "board-stopped", output: "off", trip: { rule: "creeping" } });
  } finally {
    await bench.close();
  }
});

test("a soak that does not fit in the longest on-time is refused with the figure; a power-up's watch is cut to it", async () => {
  const bench = await SimulatedBench.start({ scenario: "core-alive" });
  try {
    const wish = { watchSeconds: 600, cooler: "bare" as const };
    await expect(bench.prepare({ ...wish, task: { task: "soak" } })).rejects.toThrow(/maxOnSeconds is 15 s.*600 s/);
    expect((await bench.prepare(wish)).plan.watch.seconds).toBe(15);
  } finally {
    await bench.close();
  }
});
