import { describe, expect, it } from "vitest";
import { chargeUncertainty, energyUncertainty } from "../../src/analysis/integral-uncertainty.ts";
import { integralOf } from "../../src/analysis/integrals.ts";
import { ampsUncertainty } from "../../src/analysis/reading-uncertainty.ts";
import { seeded } from "./series.ts";

const none = () => 0;

describe("chargeUncertainty()", () => {
  it("is the instrument's own where nothing moves between readings: u of a reading times the time", () => {
    // 1 A for 10 s at ±(0.1 % + 3 mA): half-width 4 mA, 4 mA/√3 · 10 s = 23.094 mC (JCGM 100:2008, 4.3.7), by hand.
    const atMs = Float64Array.from([0, 5000, 10_000]);
    const u = chargeUncertainty(
      atMs,
      atMs.map(() => 1),
      (amps) => ampsUncertainty(amps, { ampsShare: 0.001, ampsOffset: 0.003 }, 0),
    );
    expect(u).toBeCloseTo(0.023094, 6);
  });
  it("of one step between two readings is a rectangle half the step high and the interval long", () => {
    // 0 to 2 A within 100 ms: ±0.1 C about the trapezoid, 0.1/√3 = 57.735 mC.
    expect(chargeUncertainty(Float64Array.from([0, 100]), Float64Array.from([0, 2]), none)).toBeCloseTo(0.057735, 6);
  });
  it("holds the truth of pulses that come between readings in about 95 of 100", () => {
    const random = seeded(8);
    let held = 0;
    const TRIES = 600;
    for (let each = 0; each < TRIES; each++) {
      // Four steps at random moments of a second, read every 50 ms.
      const edges = Array.from({ length: 4 }, () => 1000 * random()).sort((a, b) => a - b);
      const levels = Array.from({ length: 5 }, () => 2 * random());
      const ampsAt = (ms: number) => levels[edges.filter((edge) => edge <= ms).length] ?? 0;
      let truth = 0;
      [0, ...edges].forEach((from, index) => {
        truth += ((edges[index] ?? 1000) - from) * (levels[index] ?? 0);
      });
      const atMs = Float64Array.from({ length: 21 }, (_, i) => 50 * i);
      const amps = atMs.map(ampsAt);
      const u = chargeUncertainty(atMs, amps, none);
      if (Math.abs(integralOf(atMs, amps) - truth / 1000) <= 2 * u) held++;
    }
    // Rectangles hold more than a normal spread within two standard deviations; 95 % of 600 has a standard deviation of 0.9 %.
    expect(held / TRIES).toBeGreaterThan(0.925);
  });
  it("leaves readings without a number out, and is zero for fewer than two", () => {
    const atMs = Float64Array.from([0, 50, 100]);
    expect(chargeUncertainty(atMs, Float64Array.from([1, Number.NaN, 1]), () => 0.01)).toBeCloseTo(0.001, 9);
    expect(chargeUncertainty(atMs.subarray(0, 1), Float64Array.from([1]), () => 0.01)).toBe(0);
  });
});

describe("energyUncertainty()", () => {
  it("adds the errors of volts and of amps in squares, each straight through the whole of it", () => {
    // 12 V, 1 A, 10 s with u of 0.02 V and 0.005 A: √((1·0.02)² + (12·0.005)²)·10 = 0.632456 J, by hand.
    const atMs = Float64Array.from([0, 4000, 10_000]);
    const u = energyUncertainty(
      { atMs, volts: atMs.map(() => 12), amps: atMs.map(() => 1) },
      { ampsU: () => 0.005, voltsU: () => 0.02 },
    );
    expect(u).toBeCloseTo(0.632456, 6);
  });
});
