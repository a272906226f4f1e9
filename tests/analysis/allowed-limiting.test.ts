import { describe, expect, test } from "vitest";
import { allowedLimitingMs, chargeMs } from "../../src/analysis/allowed-limiting.ts";
import { ladderSteps } from "../../src/plan/compile/ladder-steps.ts";

describe("time a constant current takes to charge a capacitor", () => {
  test.each([
    // A load switch's data sheet, eq. 10–13: 22 µF, 9.6 V, 0.4 A give 528 µs; 957 µs is 220 mA.
    { farads: 22e-6, volts: 9.6, limitAmps: 0.4, ms: 0.528, source: "a load switch's data sheet" },
    { farads: 22e-6, volts: 9.6, limitAmps: 0.2207, ms: 0.957, source: "a load switch's data sheet" },
    // Arithmetic on t = C·V/I: 1000 µF to 12 V at 1 A in 12 ms; 5 mF at 0.2 A in 300 ms.
    { farads: 1e-3, volts: 12, limitAmps: 1, ms: 12, source: "arithmetic" },
    { farads: 5e-3, volts: 12, limitAmps: 0.2, ms: 300, source: "arithmetic" },
  ])("$farads F by $volts V at $limitAmps A is $ms ms ($source)", ({ ms, ...charging }) => {
    expect(chargeMs(charging)).toBeCloseTo(ms, 3);
  });
});

describe("the limiting a healthy feed is allowed", () => {
  test("is three charges, the supply's rise and three read intervals", () => {
    // 3 · (2.5 mF · 12 V / 1 A = 30 ms) + 20 + 3 · 10 = 140 (arithmetic).
    expect(
      allowedLimitingMs({ farads: 0.0025, volts: 12, limitAmps: 1, supplyRiseMs: 20, readIntervalMs: 10 }),
    ).toBeCloseTo(140, 9);
  });

  test("is never under 100 ms nor over a second (common practice, no source)", () => {
    const quick = { farads: 1e-5, volts: 12, limitAmps: 5, supplyRiseMs: 1, readIntervalMs: 1 };
    expect(allowedLimitingMs(quick)).toBe(100);
    expect(allowedLimitingMs({ ...quick, farads: 0.005, limitAmps: 0.1 })).toBe(1000);
  });
});

describe("the ladder", () => {
  test.each([
    { first: 2, limit: 5, shipped: [3, 5], steps: [3, 5] },
    { first: 3, limit: 5, shipped: [3, 5], steps: [5] },
    { first: 2, limit: 2, shipped: [3, 5], steps: [] },
    { first: 1, limit: 5, shipped: [], steps: [2, 4] },
    { first: 1, limit: 1.5, shipped: [3, 5], steps: [1.5] },
  ])("from $first A to $limit A goes by $steps", ({ first, limit, shipped, steps }) => {
    expect(ladderSteps(first, limit, shipped)).toEqual(steps);
  });
});
