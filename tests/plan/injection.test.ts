import { describe, expect, test } from "vitest";
import type { BoardFile } from "../../shared/files/board-file.ts";
import type { ColdReadings } from "../../shared/permit.ts";
import { compileInjection } from "../../src/plan/compile/compile-injection.ts";
import { injectionCap } from "../../src/plan/compile/injection-cap.ts";
import { marginVolts } from "../../src/plan/compile/margin-steps.ts";
import { plannedFeed } from "../../src/plan/machine/plan-feeds.ts";
import { runOnModel } from "./bench-model.ts";
import { coreInjection, kestrelBench, kestrelBoard, kestrelPlan, quickSupply } from "./example-plan.ts";

const capOf = (rail: string, coldOhms: ColdReadings = {}, board: BoardFile | null = null) => {
  const cap = injectionCap({ rail, board, coldOhms });
  return "path" in cap ? cap.message : cap.volts;
};

describe("the cap of an injection", () => {
  // Common practice, no source.
  test.each([
    ["core", 0.7],
    ["pll", 0.7],
    ["memory", 1],
    ["1v8", 1.5],
    ["3v3", 2.5],
    ["5v", 3],
  ] as const)("of %s is %d V", (rail, volts) => {
    expect(capOf(rail)).toBe(volts);
  });

  test("of a 12 V input is 1 V, and 0.8 V where it reads like the core or was not measured", () => {
    expect(capOf("12v", { "12v": 8, core: 0.4 })).toBe(1);
    expect(capOf("12v", { "12v": 12_400 })).toBe(1);
    expect(capOf("12v", { "12v": 0.45, core: 0.4 })).toBe(0.8);
    expect(capOf("12v", { "12v": 0.45 })).toBe(0.8);
    expect(capOf("12v")).toBe(0.8);
  });

  test("goes by the board's volts, never above 90 % of them, and knows no signal", () => {
    const rails = {
      core: { volts: 0.6, needs: [] },
      vio: { volts: 1.8, needs: [] },
      clock: { volts: 0.9, needs: [], signal: true },
    };
    const board = { ...kestrelBoard, rails };
    expect(capOf("core", {}, board)).toBe(0.54);
    expect(capOf("vio", {}, board)).toBe(1.5);
    expect(capOf("aux", { aux: 12_400 }, board)).toBe(1);
    expect(capOf("clock", {}, board)).toContain("a signal");
    expect(capOf("constructor", {}, board)).toContain("should be one of");
  });

  test("is lowered on request and never raised", () => {
    expect(coreInjection({ capVolts: 0.4 }).inject?.capVolts).toBe(0.4);
    const made = compileInjection({
      bench: kestrelBench,
      board: kestrelBoard,
      capabilities: { psu: quickSupply },
      coldOhms: {},
      wish: { rail: "core", feed: "aux", capVolts: 0.9 },
    });
    expect("problems" in made ? made.problems.map((each) => each.path) : []).toEqual(["cap"]);
  });

  test("has the supply's own protection 10 % above it", () => {
    const [feed] = coreInjection().feeds;
    expect(feed?.nominal).toMatchObject({ volts: 0.7, limitAmps: 0.5 });
    expect(feed?.nominal.overVolts).toBeCloseTo(0.77, 6);
  });
});

test("a margin run goes from nominal down to the tolerance with the leads' drop added, then up, below the most volts", () => {
  const aux = plannedFeed(kestrelPlan(), "aux");
  if (aux === undefined) throw new Error("the plan has no aux");
  // 12 V − 8 % + 3 A · 0.05 Ω + 1 mV = 11.191 V; 12 V + 5 % − 1 mV = 12.599 V (arithmetic).
  expect(marginVolts(aux, 5)).toEqual([12, 11.596, 11.191, 12.3, 12.599]);
  expect(Math.max(...(marginVolts({ ...aux, maxVolts: 12.3 }, 5) ?? []))).toBeLessThan(12.3);
  expect(marginVolts({ ...aux, tolerance: [-0.01, 0.05] }, 5)).toBeNull();
});

describe("the first level of an injection", () => {
  // I = √(0.3 W / R), the reviewer's own arithmetic: 0.4 Ω gives 0.866 A, 0.05 Ω 2.45 A, 12 Ω 0.158 A.
  test.each([
    [0.4, 0.86],
    [0.05, 2.4],
    [12, 0.15],
    [0.001, 5],
  ])("into %d Ω is %d A", (core, amps) => {
    const plan = coreInjection({}, { core });
    expect(plan.inject?.levelsAmps[0]).toBeCloseTo(amps, 9);
    expect(plan.feeds[0]?.nominal.limitAmps).toBeCloseTo(amps, 9);
    expect([...(plan.inject?.levelsAmps ?? [])].sort((a, b) => a - b)).toEqual(plan.inject?.levelsAmps);
  });
  test("is 0.5 A where the ohms were not read", () => {
    expect(coreInjection().inject?.levelsAmps).toEqual([0.5, 1, 2, 3, 5]);
  });
});

describe("alcohol on the board", () => {
  test("keeps the cap at 1 V and raises none", () => {
    const cap = (rail: string) => injectionCap({ rail, board: null, coldOhms: {}, alcohol: true });
    expect(cap("5v")).toMatchObject({ volts: 1, because: expect.stringContaining("alcohol") });
    expect(cap("core")).toMatchObject({ volts: 0.7 });
  });
});

describe("a short under injection", () => {
  const injected = (load: (volts: number, sinceOnMs: number) => number) =>
    runOnModel({
      plan: coreInjection({}, { core: 0.3 }),
      intervalMs: 20,
      feeds: { aux: { farads: 0.001, leadOhms: 0.02, load } },
      untilMs: 40_000,
    });
  test("that warms by 60 % over seconds is not called open", () => {
    // Heat follows 1 − e^(−t/τ): here +60 % with τ = 2 s, more than copper at +150 K.
    const run = injected((volts, ms) => volts / (0.3 * (1 + 0.6 * (1 - Math.exp(-ms / 2000)))));
    expect(run.outcome.trip).toBeNull();
    expect(run.outcome.ended).toBe("as-planned");
  });
  test("that goes open from one reading to the next is", () => {
    const run = injected((volts, ms) => volts / (ms < 5000 ? 0.3 : 3));
    expect(run.outcome.trip).toMatchObject({ rule: "cleared", board: true });
    expect(run.outcome.trip?.because).toMatch(/^the short opened under injection: \d+ mV at 1 A became/);
  });
});
