import { describe, expect, it, test } from "vitest";
import { Recording } from "../../shared/files/recorder-entry.ts";
import { loadScenario } from "../../src/simulator/load-scenario.ts";
import type { RecorderDialect } from "../../src/simulator/simulated-recorder.ts";
import { startOrder } from "../../src/verdict/start/start-order.ts";
import { type RunReport, type RunWish, SimulatedBench, type SimulatedBenchOptions } from "./simulated-bench.ts";

/** The auxiliary feed's amps and volts, and two rails. */
const RECORD = Recording.parse({
  seconds: 0.4,
  channels: {
    1: { point: "aux", reads: "amps", voltsPerAmp: 0.1, rangeVolts: 2, accuracyShare: 0.01 },
    2: { point: "aux", reads: "volts", probe: 10, rangeVolts: 4 },
    3: { point: "core", reads: "volts", rangeVolts: 4 },
    4: { point: "5v", reads: "volts", rangeVolts: 16 },
  },
});

async function recorded(
  options: Omit<SimulatedBenchOptions, "scenario"> & { scenario?: SimulatedBenchOptions["scenario"] },
  look: (bench: SimulatedBench, run: (wish?: RunWish) => Promise<RunReport>) => Promise<void>,
): Promise<void> {
  const bench = await SimulatedBench.start({
    scenario: "normal",
    recorder: { dialect: "list-preamble", record: RECORD },
    ...options,
  });
  try {
    await look(bench, (wish = {}) => bench.run({ watchSeconds: 1, ...wish }));
  } finally {
    await bench.close();
  }
}

const DIALECTS: [RecorderDialect, "high-first" | "low-first"][] = [
  ["list-preamble", "high-first"],
  ["list-preamble", "low-first"],
  ["asked-preamble", "high-first"],
];

describe.each(DIALECTS)("a recorder that speaks %s, %s", (dialect, order) => {
  it("gives the inrush peak as a value with the simulator's own peak inside its uncertainty, and the start in order", () =>
    recorded({ recorder: { dialect, order, record: RECORD } }, async (bench, run) => {
      const { verdict, readVerdict, recording, outcome } = await run();
      expect(recording?.because).toBeNull();
      expect(outcome.output).toBe("off");
      const { recorded: figures } = verdict;
      expect(figures).toMatchObject({ used: true, instrument: "scope" });
      const peak = figures?.peaks["aux"];
      const truth = bench.simulation.truth().feeds["aux"]?.peakAmps ?? 0;
      expect(Math.abs((peak?.amps ?? 0) - truth)).toBeLessThan(peak?.expandedAmps ?? 0);
      expect(peak?.expandedAmps).toBeLessThan(0.1 * truth);
      expect(verdict.class).toBe(readVerdict.class);
      const channels = recording?.recorded?.channels ?? [];
      const volts = new Map(
        channels.flatMap((each) => (each.of.reads === "volts" ? [[each.of.point, each.values]] : [])),
      );
      const { firstMs = 0, stepMs = 1 } = recording?.recorded ?? {};
      const atMs = Float64Array.from(channels[0]?.values ?? [], (_, i) => firstMs + i * stepMs);
      const board = bench.simulation.boardFile;
      if (board === undefined) throw new Error("the scenario has a board");
      const start = startOrder({ atMs, volts }, board);
      expect(start.order).toEqual(["aux", "5v", "core"]);
      expect(start.problems).toEqual([]);
      // The scenario's 5 V begins 2 ms after it is let go and rises in 2 ms, 80 % of which are between 10 and 90 %.
      expect(start.rails["5v"]?.riseMs).toBeCloseTo(1.6, 1);
    }));
});

test.each(["tcp", "pty"] as const)("a record that comes in pieces over %s is the same record", (transport) =>
  recorded({ transport }, async (bench, run) => {
    bench.simulation.misbehave.replies("scope", "all", { fault: "split", at: 9, gapMs: 30 });
    const { verdict, recording } = await run();
    expect(recording?.because).toBeNull();
    expect([verdict.recorded?.used, verdict.recorded?.because]).toEqual([true, expect.anything()]);
    expect(recording?.recorded?.channels.map((each) => each.values.length)).toEqual([5000, 5000, 5000, 5000]);
  }),
);

test("every feed with a channel of its own: the greatest current of the draw is a value", () =>
  recorded({ scenario: "single-feed", recorder: { dialect: "list-preamble", record: SINGLE } }, async (bench, run) => {
    const { verdict, readVerdict } = await run();
    const truth = bench.simulation.truth().feeds["in12"]?.peakAmps ?? 0;
    expect(verdict.recorded).toMatchObject({ used: true, coversAll: true });
    expect(verdict.recorded?.readPeakAmps).toBe(readVerdict.features.peakAmps);
    expect(Math.abs((verdict.features.peakAmps ?? 0) - truth)).toBeLessThan(verdict.uncertainty?.peakAmps ?? 0);
  }));

const SINGLE = Recording.parse({
  seconds: 0.4,
  channels: {
    1: { point: "in12", reads: "amps", voltsPerAmp: 0.1, rangeVolts: 2, accuracyShare: 0.01 },
    2: { point: "in12", reads: "volts", probe: 10, rangeVolts: 4 },
  },
});

/** A core that retries every 7 ms, which a supply that reads every 12 ms and more does not see. */
async function fastRetry() {
  const { scenario, board } = await loadScenario("retrying-invisible");
  if (board === null) throw new Error("the scenario has a board");
  const rails = structuredClone(scenario.rails);
  for (const rail of Object.values(rails)) {
    if (rail.fault?.fault === "short") Object.assign(rail.fault, { periodMs: 7, onMs: 2 });
  }
  return { ...scenario, board, rails };
}

describe("a draw that pulses every 7 ms", () => {
  it("is left open by the readings alone, and is retrying once it was recorded", async () => {
    await recorded({ scenario: await fastRetry() }, async (_, run) => {
      const { verdict, readVerdict } = await run({ watchSeconds: 5 });
      expect(readVerdict.class).not.toBe("retrying");
      expect(readVerdict.candidates.map((each) => each.class)).toContain("retrying");
      expect(verdict.class).toBe("retrying");
      expect(verdict.features.periodMs).toBeCloseTo(7, 1);
      expect(verdict.recorded?.periodMs).toBeCloseTo(7, 1);
    });
  });
});
