import { describe, expect, it } from "vitest";
import { changePointsOf } from "../../src/analysis/change-points.ts";
import { driftOf } from "../../src/analysis/drift.ts";
import { madSigmaOf, noiseOf } from "../../src/analysis/noise.ts";
import { plateauLevelOf } from "../../src/analysis/plateau-level.ts";
import { levelStretchesOf } from "../../src/analysis/plateaus.ts";
import { medianOf, quantileOf } from "../../src/analysis/quantile.ts";
import { readStepOf } from "../../src/analysis/read-step.ts";
import { settlingMs } from "../../src/analysis/settling.ts";
import { thinOut } from "../../src/analysis/thin-out.ts";
import { gaussian, seeded, stamps } from "./series.ts";

describe("medianOf() and quantileOf()", () => {
  it("agree with a sort on a thousand draws, and leave out what is no number", () => {
    const random = seeded(5);
    const values = Array.from({ length: 1001 }, () => random());
    const sorted = [...values].sort((a, b) => a - b);
    expect(medianOf([...values, Number.NaN])).toBe(sorted[500]);
    expect(quantileOf(values, 0.2)).toBe(sorted[200]);
    expect(medianOf(values.slice(1))).toBeCloseTo(medianOf(sorted.filter((value) => value !== values[0])), 12);
  });
  it("take the mean of the two in the middle, and NaN where there is nothing", () => {
    expect(medianOf([4, 1, 3, 2])).toBe(2.5);
    expect(medianOf([2, 1])).toBe(1.5);
    expect(medianOf([])).toBeNaN();
    expect(medianOf([Number.NaN])).toBeNaN();
  });
  it("end on many equal values", () => {
    expect(medianOf(new Float64Array(10_000).fill(3))).toBe(3);
  });
});

describe("noise", () => {
  it("is the standard deviation of normal noise, by both ways", () => {
    const draw = gaussian(seeded(1));
    const values = Float64Array.from({ length: 20_000 }, () => 1 + 0.01 * draw());
    expect(madSigmaOf(values)).toBeCloseTo(0.01, 3);
    expect(noiseOf(values)).toBeCloseTo(0.01, 3);
  });
  it("by differences does not see a step", () => {
    const draw = gaussian(seeded(2));
    const values = Float64Array.from({ length: 2000 }, (_, i) => (i < 1000 ? 0 : 5) + 0.01 * draw());
    expect(noiseOf(values)).toBeCloseTo(0.01, 2);
    expect(madSigmaOf(values)).toBeGreaterThan(1);
  });
});

describe("plateauLevelOf()", () => {
  it("has a standard error that holds what it claims on independent noise", () => {
    const draw = gaussian(seeded(3));
    let outside = 0;
    for (let run = 0; run < 200; run++) {
      const { mean, stdError } = plateauLevelOf(Array.from({ length: 100 }, () => 2 + 0.1 * draw()));
      if (Math.abs(mean - 2) > 2 * stdError) outside++;
    }
    // 4.55 % of a normal distribution lie outside two standard errors: 9 of 200.
    expect(outside).toBeLessThan(25);
  });
  it("widens for readings that follow each other: AR(1) with 0.9 is worth n·(1 − 0.9)/(1 + 0.9)", () => {
    const draw = gaussian(seeded(4));
    let value = 0;
    const values = Array.from({ length: 20_000 }, () => {
      value = 0.9 * value + draw();
      return value;
    });
    const { effectiveN } = plateauLevelOf(values);
    expect(effectiveN / ((20_000 * 0.1) / 1.9)).toBeGreaterThan(0.75);
    expect(effectiveN / ((20_000 * 0.1) / 1.9)).toBeLessThan(1.35);
  });
  it("is not moved by a glitch", () => {
    expect(plateauLevelOf([1, 1.01, 0.99, 1, 50, 1.01, 0.99, 1]).mean).toBeCloseTo(1, 3);
  });
  it("does not claim to see finer than the meter's step", () => {
    const { stdDev } = plateauLevelOf([0.5, 0.5, 0.5, 0.5], 0.01);
    expect(stdDev).toBeCloseTo(0.01 / Math.sqrt(12), 6);
  });
  it("answers NaN for nothing", () => {
    expect(plateauLevelOf([]).mean).toBeNaN();
    expect(plateauLevelOf([Number.NaN]).mean).toBeNaN();
  });
});

describe("levelStretchesOf()", () => {
  it("finds the steps of a start where they are", () => {
    const draw = gaussian(seeded(6));
    const atMs = stamps(1000, 10);
    const levels = [0.02, 0.12, 0.5, 1.4];
    const values = atMs.map((t) => (levels[t < 1000 ? 0 : t < 2500 ? 1 : t < 4000 ? 2 : 3] ?? 0) + 0.002 * draw());
    const found = levelStretchesOf(atMs, values, 0.01);
    expect(found.map(({ level }) => Number(level.toFixed(2)))).toEqual(levels);
    expect(found.map(({ startMs }) => startMs)).toEqual([0, 1000, 2500, 4000]);
  });
  it("makes one stretch of a slow climb, not a staircase", () => {
    const draw = gaussian(seeded(7));
    const atMs = stamps(1500, 10);
    const values = atMs.map((t) => 1 + 0.2 * (t / 15_000) + 0.002 * draw());
    expect(levelStretchesOf(atMs, values, 0.01)).toHaveLength(1);
    expect(changePointsOf(values).length).toBeGreaterThan(3);
  });
  it("takes a million readings and still finds the step", () => {
    const draw = gaussian(seeded(8));
    const atMs = stamps(1_000_000, 0.015);
    const values = atMs.map((t) => (t < 6000 ? 0.1 : 1.2) + 0.005 * draw());
    const found = levelStretchesOf(atMs, values, 0.02);
    expect(found).toHaveLength(2);
    expect(found[1]?.startMs).toBeGreaterThan(5990);
    expect(found[1]?.startMs).toBeLessThan(6010);
  });
  it("is empty for less than two readings, one stretch for a constant", () => {
    expect(levelStretchesOf(stamps(1, 10), new Float64Array(1), 0.01)).toEqual([]);
    expect(levelStretchesOf(stamps(50, 10), new Float64Array(50).fill(0.3), 0.01)).toHaveLength(1);
  });
});

describe("driftOf()", () => {
  it("has the slope of a line in spite of outliers", () => {
    const atMs = stamps(600, 100);
    const values = atMs.map((t, i) => 1 + 0.001 * (t / 1000) + (i % 37 === 0 ? 3 : 0));
    expect(driftOf(atMs, values)?.perMin).toBeCloseTo(0.06, 4);
  });
  it("shows in its halves that a climb flattens: 8 % with a time constant of 60 s", () => {
    const atMs = stamps(1200, 50);
    const drift = driftOf(
      atMs,
      atMs.map((t) => 1 + 0.08 * (1 - Math.exp(-t / 60_000))),
    );
    expect(drift?.secondHalfPerMin).toBeLessThan(0.7 * (drift?.firstHalfPerMin ?? 0));
  });
  it("is null for too little", () => {
    expect(driftOf(stamps(7, 10), new Float64Array(7))).toBeNull();
    expect(driftOf(new Float64Array(20), new Float64Array(20))).toBeNull();
  });
});

describe("settlingMs()", () => {
  it("is 3.912 time constants for an exponential to reach 2 % (ln 50)", () => {
    const atMs = stamps(10_000, 0.1);
    const values = atMs.map((t) => 1 - Math.exp(-t / 100));
    expect(settlingMs(atMs, values, 1)).toBeCloseTo(391.2, 0);
  });
  it("is null where the last reading is still outside", () => {
    expect(settlingMs(stamps(3, 1), Float64Array.of(0, 1, 2), 1)).toBeNull();
  });
});

describe("readStepOf()", () => {
  it("finds the step of a meter and none in readings that have none", () => {
    const draw = gaussian(seeded(9));
    const noisy = Float64Array.from({ length: 500 }, () => 1 + 0.05 * draw());
    const span = { least: 1e-4, most: 0.01 };
    expect(
      readStepOf(
        noisy.map((value) => Math.round(value / 0.01) * 0.01),
        span,
      ),
    ).toBeCloseTo(0.01, 9);
    expect(readStepOf(noisy, span)).toBe(0);
    expect(readStepOf(Float64Array.of(0, 0.3, 0.6, 0.6), span)).toBe(0.01);
    expect(readStepOf(new Float64Array(20).fill(1), span)).toBe(0);
  });
});

describe("thinOut()", () => {
  it("keeps the mean and the span, and drops what is no number", () => {
    const atMs = stamps(10_000, 1);
    const values = atMs.map((_, i) => (i % 10 === 3 ? Number.NaN : i % 2));
    const thin = thinOut(atMs, values, 100);
    expect(thin.values.length).toBeLessThanOrEqual(100);
    expect(thin.values.every(Number.isFinite)).toBe(true);
    expect(thin.values.reduce((sum, value) => sum + value, 0) / thin.values.length).toBeCloseTo(4 / 9, 3);
  });
});
