import { describe, expect, test } from "vitest";
import type { BoardFile } from "../../shared/board-file.ts";
import type { ColdReadings } from "../../shared/permit.ts";
import { compileInjection } from "../../src/plan/compile/compile-injection.ts";
import { injectionCap } from "../../src/plan/compile/injection-cap.ts";
import { marginVolts } from "../../src/plan/compile/margin-steps.ts";
import { plannedFeed } from "../../src/plan/machine/plan-feeds.ts";
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
