import { readFile } from "node:fs/promises";
import { describe, expect, test } from "vitest";
import { ScenarioFile, type ScenarioLoad } from "../../shared/files/scenario-file.ts";
import type { PlanEvent } from "../../shared/plan.ts";
import type { FeedTruth } from "../../src/simulator/truth.ts";
import { type RunReport, type RunWish, SimulatedBench, type SimulatedBenchOptions } from "./simulated-bench.ts";

/** Budgets of an injection (common practice, no source). */
const CORE_CAP_VOLTS = 0.7;
const BOARD_WATTS = 5;
const BOARD_JOULES = 100;

const task = { task: "inject", rail: "core", feed: "aux", side: "after", levelSeconds: 10 } as const;

interface Injected {
  report: RunReport;
  truth: FeedTruth;
  /** Most power at the card at any event of the run, watts. */
  mostWatts: number;
  bench: SimulatedBench;
}

/** One injection into the core through the auxiliary feed's leads; `at` is called with each event, in the run's time. */
async function injected(
  options: SimulatedBenchOptions,
  wish: Partial<RunWish> = {},
  at: (event: PlanEvent, bench: SimulatedBench) => void = () => {},
): Promise<Injected> {
  // Minutes of readings: an instrument of middling speed is enough.
  const bench = await SimulatedBench.start({ traits: { latencyMs: 150, latencyJitterMs: 30 }, ...options });
  let mostWatts = 0;
  try {
    const report = await bench.run({
      task,
      waiver: null,
      // Without cold ohms the levels are those of the table; what they make of the first is in tests/plan.
      coldOhms: {},
      ...wish,
      onEvent: (event) => {
        const { boardVolts = 0, amps = 0 } = bench.simulation.truth().feeds["aux"] ?? {};
        mostWatts = Math.max(mostWatts, boardVolts * amps);
        at(event, bench);
      },
    });
    const truth = bench.simulation.truth().feeds["aux"];
    if (truth === undefined) throw new Error("the scenario has no aux");
    return { report, truth, mostWatts, bench };
  } finally {
    await bench.close();
  }
}

function mustKeepBudgets({ report, truth, mostWatts }: Injected, capVolts = CORE_CAP_VOLTS): void {
  expect(report.outcome.output).toBe("off");
  expect(truth.output).toBe("off");
  expect(truth.maxSetVolts).toBeLessThanOrEqual(capVolts + 1e-9);
  expect(truth.maxBoardVolts).toBeLessThanOrEqual(capVolts + 0.01);
  expect(truth.maxSetLimitAmps).toBeLessThanOrEqual(5);
  expect(truth.energyJoules).toBeLessThanOrEqual(BOARD_JOULES);
  expect(mostWatts).toBeLessThanOrEqual(BOARD_WATTS);
}

/** The shipped scenario with this load in place of its short, on a feed without capacitors of note. */
async function withLoad(load: ScenarioLoad): Promise<ScenarioFile> {
  const raw = JSON.parse(await readFile("scenarios/injection.json", "utf8"));
  const board = JSON.parse(await readFile(`scenarios/${raw.board}`, "utf8"));
  return ScenarioFile.parse({ ...raw, board, feeds: { aux: { ...raw.feeds.aux, leakOhms: 1e6, loads: [load] } } });
}

describe("an injection into a shorted core", () => {
  test("goes 0.5, 1, 2, 3, 5 A with a yes to each, off while it is asked, and tells the ohms without the leads", async () => {
    const asked: number[] = [];
    const run = await injected(
      { scenario: "injection" },
      {
        answer: (question) => {
          asked.push(question.toAmps ?? 0);
          return true;
        },
      },
    );
    mustKeepBudgets(run);
    const { outcome } = run.report;
    expect(asked).toEqual([1, 2, 3, 5]);
    expect(outcome).toMatchObject({ ended: "as-planned", trip: null });
    expect(outcome.levels?.map((each) => each.limitAmps)).toEqual([0.5, 1, 2, 3, 5]);
    // 0.057 Ω beside the core's own 0.41 Ω (arithmetic): 0.05 Ω.
    for (const level of outcome.levels ?? []) expect(level.ohms).toBeCloseTo(0.05, 2);
    // 10 s each as asked for, 60 s at the top.
    const over = (outcome.levels ?? []).map((each, index) => each.seconds - (index === 4 ? 60 : 10));
    for (const seconds of over) expect(Math.abs(seconds - 0.5)).toBeLessThan(1);
    const ons = run.truth.switchings.map((each) => each.output);
    expect(ons).toEqual(["on", "off", "on", "off", "on", "off", "on", "off", "on", "off"]);
    const told = (outcome.levels ?? []).reduce((sum, each) => sum + each.joules, 0);
    expect(told / run.truth.energyJoules).toBeGreaterThan(0.97);
    expect(told / run.truth.energyJoules).toBeLessThan(1.05);
  });

  test("with nobody there to ask is one level", async () => {
    const run = await injected({ scenario: "injection" }, { answer: null });
    mustKeepBudgets(run);
    expect(run.truth.maxSetLimitAmps).toBe(0.5);
    expect(run.report.outcome).toMatchObject({ ended: "as-planned", trip: null });
    expect(run.report.outcome.levels).toHaveLength(1);
  });

  test("stops when the short burns open, and calls it cleared, not repaired", async () => {
    const run = await injected({ scenario: "injection-cleared" }, { answer: () => true });
    mustKeepBudgets(run);
    const { outcome } = run.report;
    expect(outcome).toMatchObject({ ended: "board-stopped", trip: { rule: "cleared", board: true, stage: "inject" } });
    expect(outcome.trip?.because).toMatch(/opened under injection.*not a repair/s);
    const last = run.truth.switchings.slice(-2);
    expect((last[1]?.atMs ?? 0) - (last[0]?.atMs ?? 0)).toBeLessThan(10_000);
  });
});

test("into 0.6 Ω it keeps to its cap, and says that the cap holds the current", async () => {
  const run = await injected({ scenario: await withLoad({ load: "resistor", ohms: 0.6 }) }, { answer: () => true });
  mustKeepBudgets(run);
  expect(run.report.outcome.ended).toBe("as-planned");
  expect(run.report.outcome.note).toMatch(/the cap of 700 mV holds the current/);
});

test("into a 1.8 V rail the next limit is not offered where it would put more than 5 W into the board", async () => {
  const asked: number[] = [];
  const run = await injected(
    { scenario: await withLoad({ load: "resistor", ohms: 0.4 }) },
    {
      task: { ...task, rail: "1v8" },
      answer: ({ toAmps }) => {
        asked.push(toAmps ?? 0);
        return true;
      },
    },
  );
  mustKeepBudgets(run, 1.5);
  // 3 A into 0.4 Ω are 3.6 W; 5 A would be held by the cap of 1.5 V at 3.75 A, 5.6 W (arithmetic).
  expect(asked).toEqual([1, 2, 3]);
  expect(run.report.outcome.note).toContain("5 W");
});

describe("an injection is cut", () => {
  const cases: { title: string; do: (bench: SimulatedBench) => void; trips: string[] }[] = [
    {
      title: "by a key, which ends it as planned",
      do: (bench: SimulatedBench) => bench.bench.cut("Ctrl-C"),
      trips: [],
    },
    {
      title: "when the supply stops answering",
      do: (bench: SimulatedBench) => bench.simulation.misbehave.stall("psu", true),
      trips: ["silent", "link-lost"],
    },
    {
      title: "when the link is lost",
      do: (bench: SimulatedBench) => bench.simulation.misbehave.dropLink("psu", "reset"),
      trips: ["link-lost"],
    },
  ];
  test.each(cases)("$title", async ({ do: trouble, trips }) => {
    let done = false;
    const bench = await SimulatedBench.start({ scenario: "injection" });
    try {
      const { outcome } = await bench.run({
        task,
        waiver: null,
        answer: () => true,
        onEvent: (event) => {
          if (done || event.atMs < 2500) return;
          done = true;
          bench.clock.after(1, () => trouble(bench));
        },
      });
      expect(done).toBe(true);
      expect(outcome.levels).toHaveLength(1);
      if (trips.length === 0) expect(outcome).toMatchObject({ ended: "as-planned", trip: null, output: "off" });
      else expect(trips).toContain(outcome.trip?.rule);
    } finally {
      bench.simulation.misbehave.stall("psu", false);
      await bench.close();
    }
  });
});

describe("the permit of an injection", () => {
  const permitOf = async (wish: RunWish, change: Record<string, boolean | null> = {}) => {
    const bench = await SimulatedBench.start({ scenario: "injection" });
    try {
      const request = bench.request(wish);
      Object.assign(request.conditions, change);
      return (await bench.prepareOf(request)).permit;
    } finally {
      await bench.close();
    }
  };

  test("asks that every other feed is unplugged, for the side of the inductor and the polarity, and none is waived", async () => {
    const waiver = { reason: "a test", items: null };
    const whole = await permitOf({ task, waiver: null });
    expect(whole.granted).toBe(true);
    const plugged = await permitOf({ task, waiver }, { pairsUnplugged: null });
    expect(plugged).toMatchObject({ granted: false });
    expect(plugged.refusedBecause.join()).toContain("--checked unplugged");
    const reversed = await permitOf({ task, waiver }, { polarityChecked: null });
    expect(reversed.granted).toBe(false);
    const nowhere = await permitOf({ task: { ...task, side: null }, waiver });
    expect(nowhere.refusedBecause.join()).toContain("--side");
  });
});
