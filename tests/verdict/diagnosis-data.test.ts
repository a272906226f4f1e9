import { describe, expect, it } from "vitest";
import { boardRolesOf } from "../../src/verdict/diagnosis/board-roles.ts";
import { powerTreeOf } from "../../src/verdict/diagnosis/power-tree.ts";
import { shippedFaultData } from "../../src/verdict/diagnosis/shipped-fault-data.ts";
import { figuresOf, runStudy, STRATEGIES, studyModel } from "../study/diagnosis-figures.ts";
import { KESTREL } from "./diagnosis-bench.ts";

const data = shippedFaultData();
const model = studyModel();

describe("the shipped fault data", () => {
  // Common practice, no source: 46 rows with weights that sum to 137.5.
  it("has 46 faults with a weight of 137.5 in all, each with what it looks like", () => {
    expect(data.rows.map((row) => row.id)).toEqual(
      Array.from({ length: 46 }, (_, at) => `F${String(at + 1).padStart(2, "0")}`),
    );
    expect(data.rows.reduce((sum, row) => sum + row.weight, 0)).toBeCloseTo(137.5, 9);
  });
  it("marks every short as one power must not reach", () => {
    const shorts = data.rows.filter((row) => row.short).map((row) => row.id);
    for (const id of ["F04", "F05", "F06", "F07", "F08", "F09", "F10", "F11", "F12", "F20", "F21", "F42"])
      expect(shorts).toContain(id);
  });
});

describe("the Kestrel K2 in the fault data", () => {
  const tree = powerTreeOf(KESTREL);
  it("has each rail and signal in the part its name and volts give it", () => {
    const roles = boardRolesOf(tree, data);
    expect(Object.fromEntries(roles.rails)).toEqual({
      "5v": "5v",
      "1v8": "1v8",
      pll: "pll",
      soc: "soc",
      core: "core",
      mem: "mem",
      "mem-vpp": "other",
    });
    expect(Object.fromEntries(roles.feeds)).toEqual({ slot3v3: "logic", slot12: "slot", aux: "aux" });
    expect(Object.fromEntries(roles.signals)).toEqual({
      clock: "clock",
      "core-enable": "enable",
      "power-good": "other",
      reset: "reset",
    });
  });
  it("knows which feed a rail draws on: by its pair, by the plane it needs, by the tree", () => {
    expect(["core", "1v8", "pll", "5v", "soc"].map((rail) => tree.inputOf(rail))).toEqual([
      "aux",
      "slot3v3",
      "slot12",
      "aux",
      "aux",
    ]);
    expect(tree.isBehind("mem", "1v8")).toBe(true);
    expect(tree.isBehind("1v8", "mem")).toBe(false);
    expect(tree.planeOf("aux")).toBe("12v");
  });
});

describe("every measurement under every hypothesis", () => {
  it("has chances that sum to 1 and are never zero: no single reading ends a search", () => {
    for (const { id, chance, outcomes } of model.measurements) {
      for (const row of chance) {
        expect(row.length, id).toBe(outcomes.length);
        expect(
          row.reduce((sum, share) => sum + share, 0),
          id,
        ).toBeCloseTo(1, 6);
        expect(Math.min(...row), id).toBeGreaterThan(0);
      }
    }
  });
  it("has priors that sum to 1", () => {
    expect(model.hypotheses.reduce((sum, each) => sum + each.prior, 0)).toBeCloseTo(1, 9);
  });
});

describe("a short study", () => {
  const runs = runStudy({ model, count: 40, seed: 5, weight: 30 });
  it("takes at most 60 % of the checklist's minutes", () => {
    expect(figuresOf(runs, "chosen").meanMinutes).toBeLessThan(0.6 * figuresOf(runs, "checklist").meanMinutes);
  });
  it.each(STRATEGIES)("energises no short in the %s order: the gate is the same", (strategy) => {
    expect(figuresOf(runs, strategy).energisedShorts).toBe(0);
  });
  it("is the same again from the same seed", () => {
    expect(runStudy({ model, count: 3, seed: 5, weight: 30 })).toEqual(runs.slice(0, 3));
  });
});
