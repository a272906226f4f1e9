import { describe, expect, it } from "vitest";
import { FaultData } from "../../shared/files/fault-data.ts";
import { shippedFaultData } from "../../src/verdict/diagnosis/shipped-fault-data.ts";
import { aimsTable } from "./diagnosis-aims.ts";
import { drawFaults, figuresOfSearches, type Run, studyModel } from "./diagnosis-figures.ts";
import { drawnData } from "./drawn-data.ts";
import type { Search } from "./search.ts";

const SEARCH: Search = {
  reached: true,
  isCauseFirst: true,
  measurements: 20,
  minutes: 40,
  risk: 5,
  misled: false,
  energisedShort: false,
  said: null,
};
const run = (chosen: Partial<Search>, isCluster = true): Run => ({
  faults: "F27 reset",
  isCluster,
  isShort: false,
  searches: { chosen: { ...SEARCH, ...chosen }, checklist: { ...SEARCH, minutes: 100 }, random: SEARCH },
});
const times = (count: number, each: Run): Run[] => Array<Run>(count).fill(each);

describe("aimsTable()", () => {
  it("says of each aim that it is met", () => {
    const table = aimsTable(times(10, run({})), figuresOfSearches([SEARCH]));
    expect(table).not.toContain("missed");
    expect(table.match(/\| met \|/g)).toHaveLength(7);
  });
  it("says by how much each aim is missed", () => {
    const runs = [...times(6, run({ minutes: 60 })), ...times(4, run({ minutes: 60, misled: true, reached: false }))];
    const table = aimsTable(runs, figuresOfSearches([{ ...SEARCH, reached: false }]));
    expect(table).toContain("| all faults: misled | at most 10 % | 40 % | missed by 30 points |");
    expect(table).toContain("| every rail normal: reached | at least 75 % | 60 % | missed by 15 points |");
    expect(table).toContain("| every rail normal: minutes, mean | at most 45 | 60.0 | missed by 15.0 minutes |");
    expect(table).toContain("| at most 10 points | 60 points | missed |");
    expect(aimsTable([run({ energisedShort: true })], figuresOfSearches([SEARCH]))).toContain("| none | 1 | missed |");
  });
});

describe("drawnData()", () => {
  it("is fault data again: its shares sum to 1, and what never happens does not", () => {
    const drawn = drawnData(shippedFaultData(), 10, 3);
    expect(FaultData.safeParse(drawn).error).toBeUndefined();
    expect(drawn.rows[0]?.draw[6]).toBe(0);
    expect(drawn.rows[0]?.draw[0]).not.toBe(shippedFaultData().rows[0]?.draw[0]);
  });
  it("lies about the shipped data: nearer with a greater weight", () => {
    const shipped = shippedFaultData().states.coldDefault[2] ?? 0;
    const drawnAt = (weight: number): number[] =>
      Array.from({ length: 40 }, (_, seed) => drawnData(shippedFaultData(), weight, seed).states.coldDefault[2] ?? 0);
    const mean = (values: number[]): number => values.reduce((sum, each) => sum + each, 0) / values.length;
    const spread = (values: number[]): number => Math.sqrt(mean(values.map((each) => (each - shipped) ** 2)));
    // A beta distribution of mean 0.9 and weight w has the standard deviation √(0.09 / (w + 1)); forty draws tell it within a quarter.
    for (const weight of [10, 100]) {
      expect(mean(drawnAt(weight))).toBeCloseTo(shipped, 1);
      expect(spread(drawnAt(weight)) / Math.sqrt(0.09 / (weight + 1))).toBeGreaterThan(0.5);
      expect(spread(drawnAt(weight)) / Math.sqrt(0.09 / (weight + 1))).toBeLessThan(1.6);
    }
  });
});

describe("a board of the study", () => {
  const model = studyModel();
  const drawn = drawFaults({ model, count: 12, seed: 7, weight: 30 });
  const of = (id: string) => model.measurements.find((each) => each.id === id) ?? expect.fail(id);

  it("answers the same in whatever order it is measured", () => {
    const ids = ["cold ohms core", "volts 1v8", "lanes", "visual", "clock-pair"];
    for (const { truth } of drawn) {
      const [forward, backward] = [truth(), truth()];
      const answers = ids.map((id) => forward.answer(of(id)));
      expect([...ids].reverse().map((id) => backward.answer(of(id)))).toEqual([...answers].reverse());
    }
  });
  it("shows the same state when a check is made again, but for slips", () => {
    const again = drawn.map(({ truth }) => {
      const board = truth();
      return JSON.stringify(board.answer(of("lanes"))) === JSON.stringify(board.answer(of("lanes, again")));
    });
    expect(again.filter(Boolean).length).toBeGreaterThanOrEqual(10);
  });
});
