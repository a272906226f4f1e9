import { describe, expect, test } from "vitest";
import type { SweepCapture } from "../../shared/sweep.ts";
import { judgeCapture } from "../../src/verdict/sweep/sweep-judge.ts";
import { coldOhmsIn } from "../../src/verdict/sweep/sweep-readings.ts";
import { point } from "./one-point.ts";

/** A capacitor across a resistor, charged by a meter's constant current: v = R·(1 − e^(−t/RC)), slope = e^(−t/RC)/C (arithmetic). */
const charging = (ohms: number, farads: number, seconds: number) => {
  const left = Math.exp(-seconds / (ohms * farads));
  return { value: ohms * (1 - left), slope: left / farads };
};

const judged = (value: number, risePerSecond: number, more: Partial<SweepCapture> = {}) =>
  judgeCapture(
    point("aux", 0, { quantity: "ohms", low: 300, high: 100_000, shortBelow: 100 }),
    {
      index: 0,
      how: "contact",
      value,
      overload: false,
      halfWidth: 0.01 * value,
      standardError: 0,
      readings: 8,
      moving: "no",
      risePerSecond,
      tookMs: 500,
      questioned: null,
      corrects: false,
      ...more,
    },
    { groundDropVolts: 0 },
  );

describe("ohms that still rise", () => {
  // The three readings a technician was told with ± 1.2 %, 3 U off: their truths.
  test.each([
    [2400, 0.002, 2310],
    [12_400, 0.002, 11_965],
    [3100, 0.004, 2990],
  ])("of %d Ω over %d F are at least what was read, and the truth lies under the end given", (truth, farads, read) => {
    const seconds = -truth * farads * Math.log(1 - read / truth);
    const { value, slope } = charging(truth, farads, seconds);
    expect(value).toBeCloseTo(read, 6);
    const rail = judged(value, slope);
    expect(rail.expandedOhms).toBeUndefined();
    expect(rail.ohms).toBeLessThan(truth);
    expect(rail.mostOhms ?? 0).toBeGreaterThan(truth);
    expect(rail.because[0]).toMatch(/aux reads at least .*k?Ω, still rising, to at most/);
    expect(rail.verdict).toBe("pass");
  });
  test("have no end in sight where the slope is that of the capacitor alone", () => {
    const { value, slope } = charging(200_000, 0.001, 1);
    const rail = judged(value, slope, { moving: "rising" });
    expect(rail.mostOhms).toBeNull();
    expect(rail.because[0]).toContain("not known how far");
    expect(rail.verdict).toBe("conditional-pass");
  });
  test("that may end above the high limit are no pass and no fail; what ends above it by its own course fails within the error only", () => {
    expect(judged(50_000, 600, { moving: "rising" })).toMatchObject({
      verdict: "conditional-pass",
      said: "still rising",
    });
    const over = judged(50_000, 100, { moving: "rising", end: { value: 400_000, expanded: 40_000 } });
    expect(over).toMatchObject({ verdict: "conditional-fail", said: "still rising" });
    expect(over.because[0]).toMatch(/still rising, as it slows down, to 400 kΩ ± 4\d kΩ/);
  });
  test("past the high limit are a fail, however far they still go", () => {
    expect(judged(150_000, 600, { moving: "rising" })).toMatchObject({ verdict: "fail" });
  });
  test("below their low limit are no fail while they rise, and no evidence of a short", () => {
    const below = judged(150, 40, { moving: "rising", how: "take" });
    expect(below).toMatchObject({ verdict: "conditional-fail", said: "still rising" });
    expect(coldOhmsIn([below])).toEqual({});
    expect(coldOhmsIn([judged(5000, 600, { moving: "rising" })])).toEqual({ aux: 5000 });
  });
  test("keep their ± where the rise is inside it", () => {
    expect(judged(12_400, 0.5).expandedOhms).toBeGreaterThan(0);
  });
});
