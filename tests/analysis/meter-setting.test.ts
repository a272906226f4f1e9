import { describe, expect, test } from "vitest";
import { chooseMeterSetting } from "../../src/analysis/meter-setting.ts";

/** Ranges of a 6½-digit meter, 1 year: ±(% of reading + % of range) as a meter's manual prints them. */
const RANGES = [
  { upTo: 1, share: 40e-6, offset: 7e-6 },
  { upTo: 10, share: 35e-6, offset: 50e-6 },
  { upTo: 100, share: 45e-6, offset: 0.0006 },
];
/** 3½ digits: ±(0.5 % + 2 digits) of 2 V, 20 V, 200 V. */
const COARSE = [
  { upTo: 2, share: 0.005, offset: 0.002 },
  { upTo: 20, share: 0.005, offset: 0.02 },
  { upTo: 200, share: 0.005, offset: 0.2 },
];
const volts = (low: number, high: number, ranges = RANGES) =>
  chooseMeterSetting({ function: "volts", low, high, mayMeetVolts: 12.6, ranges });

describe("the range of volts", () => {
  test("holds any rail of the board where that is fine enough, so that a slip reads as its number", () => {
    // ±0.64 mV on 100 V against a quarter of ±85 mV.
    expect(volts(0.765, 0.935)).toMatchObject({ rangeUpTo: 100, powerLineCycles: 1 });
  });

  test("is the smallest that holds the limits where the tolerance wants it", () => {
    // ±20 mV on 20 V is more than a quarter of ±50 mV; ±6.5 mV on 2 V is not.
    expect(volts(0.85, 0.95, COARSE)).toMatchObject({ rangeUpTo: 2, powerLineCycles: 1 });
  });

  test("reads slowly, and says that verdicts stay conditional, where even that is too coarse", () => {
    const chosen = volts(0.995, 1.005, COARSE);
    expect(chosen).toMatchObject({ rangeUpTo: 2, powerLineCycles: 10 });
    expect(chosen.because.join()).toContain("conditional");
  });

  test("leaves room above the limit: a rail a fifth too high is still a number", () => {
    expect(volts(8.6, 9.5, COARSE).rangeUpTo).toBe(20);
    expect(
      chooseMeterSetting({ function: "volts", low: 1.7, high: 1.9, mayMeetVolts: null, ranges: COARSE }),
    ).toMatchObject({
      rangeUpTo: 20,
    });
  });

  test("is asked for by its value where the driver knows no ranges", () => {
    expect(volts(11.04, 12.6, []).rangeUpTo).toBeCloseTo(15.12, 6);
  });

  test("is the meter's own choice where no limit is known", () => {
    const wish = { function: "volts" as const, low: null, high: 1, mayMeetVolts: 12, ranges: RANGES };
    expect(chooseMeterSetting(wish).rangeUpTo).toBeNull();
  });
});

describe("ohms", () => {
  const ohms = (low: number | null, name: "ohms" | "fourWireOhms" = "ohms") =>
    chooseMeterSetting({ function: name, low, high: 1e5, mayMeetVolts: 12, ranges: [] });

  test("range by themselves, so that an overload means open", () => {
    expect(ohms(300)).toMatchObject({ rangeUpTo: null, powerLineCycles: 1 });
  });

  test("under 10 Ω are read slowly, and two wires ask for a lead null", () => {
    expect(ohms(0.1)).toMatchObject({ rangeUpTo: null, powerLineCycles: 10 });
    expect(ohms(0.1).because.join()).toContain("null the leads");
    expect(ohms(0.1, "fourWireOhms").because.join()).not.toContain("null the leads");
  });
});
