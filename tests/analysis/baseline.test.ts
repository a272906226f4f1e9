import { describe, expect, it } from "vitest";
import { type BaselineCapture, baselineBandOf } from "../../src/analysis/baseline-band.ts";
import { currentExponentOf } from "../../src/analysis/current-exponent.ts";
import { gaussian, seeded } from "./series.ts";

const alike = { standardU: 0.001, supply: "PSU1", leads: "red pair", fans: "off", host: "none" };
const capture = (board: string, amps: number, rest: Partial<BaselineCapture> = {}): BaselineCapture => ({
  board,
  amps,
  ...alike,
  ...rest,
});

describe("baselineBandOf()", () => {
  // k of a 95 % prediction interval, computed from Student's t: reference values 15.56, 4.97, 3.56, 3.04.
  it.each([
    [[0.8, 0.9], 15.56],
    [[0.8, 0.85, 0.9], 4.97],
    [[0.8, 0.85, 0.9, 0.95], 3.56],
    [[0.8, 0.85, 0.9, 0.95, 1], 3.04],
  ])("of one capture each of boards at %j A is mean ± %f standard deviations", (levels, factor) => {
    const mean = levels.reduce((sum, amps) => sum + amps, 0) / levels.length;
    const stdDev = Math.sqrt(levels.reduce((sum, amps) => sum + (amps - mean) ** 2, 0) / (levels.length - 1));
    const band = baselineBandOf(levels.map((amps, index) => capture(`B${index}`, amps)));
    if (band.kind !== "band") throw new Error(band.kind);
    expect((band.high - band.mean) / stdDev).toBeCloseTo(factor, 1);
    expect(band.mean - band.low).toBeCloseTo(band.high - band.mean, 9);
    expect(band).toMatchObject({ withinAmps: null, atFloor: false, boards: levels.length });
  });
  it("keeps what one board repeats to apart from how boards differ, and holds the next one in 95 %", () => {
    const draw = gaussian(seeded(11));
    const [between, within] = [0.05, 0.02];
    let held = 0;
    const sums = { between: 0, within: 0 };
    const TRIES = 2000;
    for (let each = 0; each < TRIES; each++) {
      const captures: BaselineCapture[] = [];
      for (let board = 0; board < 6; board++) {
        const own = 0.85 + between * draw();
        for (let again = 0; again < 3; again++) captures.push(capture(`B${board}`, own + within * draw()));
      }
      const band = baselineBandOf(captures);
      if (band.kind !== "band") throw new Error(band.kind);
      const next = 0.85 + between * draw() + within * draw();
      if (next >= band.low && next <= band.high) held++;
      sums.between += band.betweenAmps ** 2 / TRIES;
      sums.within += (band.withinAmps ?? 0) ** 2 / TRIES;
    }
    // 95 % of 2000 has a standard deviation of 0.5 %.
    expect(held / TRIES).toBeGreaterThan(0.935);
    expect(held / TRIES).toBeLessThan(0.975);
    expect(Math.sqrt(sums.between)).toBeCloseTo(between, 2);
    expect(Math.sqrt(sums.within)).toBeCloseTo(within, 2);
  });
  it("is never narrower than the instruments can tell: 2·√2·u", () => {
    const band = baselineBandOf(["A", "B", "C"].map((board) => capture(board, 0.85)));
    expect(band).toMatchObject({ kind: "band", atFloor: true });
    if (band.kind === "band") expect(band.high - band.mean).toBeCloseTo(0.002828, 6);
  });
  it.each(["supply", "leads", "fans", "host"] as const)(
    "is not comparable where the %s differs, and says so",
    (what) => {
      const answer = baselineBandOf([capture("A", 0.8), capture("B", 0.9, { [what]: "another" })]);
      expect(answer).toMatchObject({ kind: "not-comparable" });
      expect(answer).toHaveProperty("because", expect.stringContaining(what));
    },
  );
  it("needs two boards: many captures of one say nothing of the next", () => {
    expect(baselineBandOf([]).kind).toBe("too-few");
    expect(baselineBandOf([0.8, 0.81, 0.82].map((amps) => capture("A", amps))).kind).toBe("too-few");
  });
});

describe("currentExponentOf()", () => {
  const stepped = (amps: (volts: number) => number) =>
    [11.1, 11.5, 12, 12.5].map((volts) => ({ volts, amps: amps(volts), standardU: 0.002 }));
  it.each([
    ["a resistor", (volts: number) => volts / 14, -1],
    ["a constant current", () => 0.85, 0],
    ["a converter that holds its power", (volts: number) => 10 / volts, 1],
  ])("of %s is exact: %o", (_, amps, exponent) => {
    expect(currentExponentOf(stepped(amps))?.exponent).toBeCloseTo(exponent, 9);
  });
  it("has the scatter that it says", () => {
    const draw = gaussian(seeded(4));
    const found: number[] = [];
    let said = 0;
    for (let each = 0; each < 2000; each++) {
      const answer = currentExponentOf(stepped((volts) => 10 / volts + 0.002 * draw()));
      if (answer === null) throw new Error("no exponent");
      found.push(answer.exponent);
      said = answer.standardU;
    }
    const mean = found.reduce((sum, value) => sum + value, 0) / found.length;
    const stdDev = Math.sqrt(found.reduce((sum, value) => sum + (value - mean) ** 2, 0) / found.length);
    expect(stdDev / said).toBeCloseTo(1, 1);
  });
  it("is not known from one voltage, or from no current", () => {
    expect(currentExponentOf(stepped(() => 0.85).slice(0, 1))).toBeNull();
    expect(currentExponentOf(stepped(() => 0))).toBeNull();
    expect(currentExponentOf([])).toBeNull();
  });
});
