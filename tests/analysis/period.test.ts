import { describe, expect, it } from "vitest";
import { autocorrelationOf } from "../../src/analysis/autocorrelation.ts";
import { lombScargle } from "../../src/analysis/lomb-scargle.ts";
import { periodOf, resolvablePeriods } from "../../src/analysis/period.ts";
import { pulsesOf } from "../../src/analysis/pulses.ts";
import { gaussian, seeded, stamps } from "./series.ts";

const pulseTrain = (atMs: Float64Array, periodMs: number, onMs: number, amps: number): Float64Array =>
  atMs.map((t) => ((t + 1e6 * periodMs) % periodMs < onMs ? amps : 0.02));

describe("autocorrelationOf()", () => {
  it("agrees with the sum it stands for", () => {
    const random = seeded(1);
    const values = Float64Array.from({ length: 200 }, () => random());
    const mean = values.reduce((sum, value) => sum + value, 0) / 200;
    const direct = (lag: number): number => {
      let sum = 0;
      for (let i = lag; i < 200; i++) sum += ((values[i] ?? 0) - mean) * ((values[i - lag] ?? 0) - mean);
      return sum / (200 - lag);
    };
    const found = autocorrelationOf(values);
    for (const lag of [0, 1, 7, 63, 150]) expect(found[lag]).toBeCloseTo(direct(lag) / direct(0), 9);
  });
  it("is zero where nothing varies", () => {
    expect(autocorrelationOf(new Float64Array(50).fill(2)).every((value) => value === 0)).toBe(true);
  });
});

describe("lombScargle()", () => {
  it("gives a sine all of the variance, whenever the record begins", () => {
    const random = seeded(2);
    for (const origin of [0, 12_345.6]) {
      const atMs = stamps(400, 20, 0.4, random).map((t) => t + origin);
      const values = atMs.map((t) => Math.sin((2 * Math.PI * t) / 333));
      expect(lombScargle(atMs, values, 333)).toBeGreaterThan(0.99);
      expect(lombScargle(atMs, values, 250)).toBeLessThan(0.1);
    }
  });
});

describe("periodOf()", () => {
  // Retry intervals of trade practice: 41, 118 and 265 ms of regulators, 1 s of supervisory firmware.
  it.each([
    { periodMs: 41, onMs: 5, intervalMs: 2 },
    { periodMs: 118, onMs: 12, intervalMs: 8 },
    { periodMs: 265, onMs: 30, intervalMs: 12 },
    { periodMs: 1000, onMs: 150, intervalMs: 50 },
    { periodMs: 1000, onMs: 150, intervalMs: 100 },
    { periodMs: 2700, onMs: 400, intervalMs: 100 },
  ])(
    "finds $periodMs ms in readings every $intervalMs ms that come early and late",
    ({ periodMs, onMs, intervalMs }) => {
      const random = seeded(periodMs);
      const draw = gaussian(random);
      const atMs = stamps(Math.round(15_000 / intervalMs), intervalMs, 0.2, random);
      const values = pulseTrain(atMs, periodMs, onMs, 2).map((amps) => amps + 0.003 * draw());
      const found = periodOf(atMs, values);
      expect(found?.periodMs).toBeGreaterThan(0.99 * periodMs);
      expect(found?.periodMs).toBeLessThan(1.01 * periodMs);
      expect(found?.strength).toBeGreaterThan(0.5);
    },
  );
  it("finds nothing in noise, in a constant, in a step, in too little", () => {
    const draw = gaussian(seeded(3));
    const atMs = stamps(1000, 10);
    expect(
      periodOf(
        atMs,
        atMs.map(() => draw()),
      )?.strength ?? 0,
    ).toBeLessThan(0.5);
    expect(periodOf(atMs, new Float64Array(1000).fill(1))).toBeNull();
    expect(
      periodOf(
        atMs,
        atMs.map((t) => (t < 5000 ? 0 : 1)),
      ),
    ).toBeNull();
    expect(periodOf(stamps(10, 10), new Float64Array(10))).toBeNull();
  });
  it("says what a record can show: three intervals to a fifth of it", () => {
    expect(resolvablePeriods(100, 15_000)).toEqual({ shortestMs: 300, longestMs: 3000 });
    expect(resolvablePeriods(100, 1000)).toBeNull();
  });
});

describe("pulsesOf()", () => {
  it("counts pulses, their height and their share of the time", () => {
    const atMs = stamps(3000, 5);
    const pulses = pulsesOf(atMs, pulseTrain(atMs, 500, 100, 1.5), 0.1);
    expect(pulses?.count).toBe(29);
    expect(pulses?.height).toBeCloseTo(1.48, 9);
    expect(pulses?.duty).toBeCloseTo(0.2, 2);
    expect(pulses?.spacingMs).toBe(500);
    expect(pulses?.spacingSpreadMs).toBe(0);
    expect(pulses?.readingsEach).toBe(20);
  });
  it("is null where nothing stands out", () => {
    expect(pulsesOf(stamps(100, 5), new Float64Array(100).fill(1), 0.1)).toBeNull();
  });
});
