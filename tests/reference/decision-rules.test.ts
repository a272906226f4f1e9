import { describe, expect, it } from "vitest";
import { conformityProbability, rectangularUncertainty } from "../../src/analysis/conformity.ts";
import { copperShare } from "../../src/analysis/copper.ts";
import { voltsLimits } from "../../src/verdict/diagnosis/reading-state.ts";
import { railVerdict } from "../../src/verdict/rail-verdict.ts";

describe("conformityProbability()", () => {
  // JCGM 106:2012, examples; inputs and printed results from memory, arithmetic done again.
  it("is 0.9192 for the Zener diode: −5.47 V, u 0.05 V, not above −5.40 V", () => {
    expect(conformityProbability({ value: -5.47, standardUncertainty: 0.05, high: -5.4 })).toBeCloseTo(0.9192, 4);
  });
  it("is 0.9890 for the container: 509.7 kPa, u 8.6 kPa, not below 490 kPa", () => {
    expect(conformityProbability({ value: 509.7, standardUncertainty: 8.6, low: 490 })).toBeCloseTo(0.989, 4);
  });
  it("is 0 or 1 without uncertainty and one half on a limit", () => {
    expect(conformityProbability({ value: 5, standardUncertainty: 0, low: 4.75, high: 5.25 })).toBe(1);
    expect(conformityProbability({ value: 5.3, standardUncertainty: 0, low: 4.75, high: 5.25 })).toBe(0);
    expect(conformityProbability({ value: 5.25, standardUncertainty: 0.01, low: 4.75, high: 5.25 })).toBeCloseTo(
      0.5,
      9,
    );
  });
});

describe("railVerdict() by ILAC-G8:09/2019, 4.2.3, guard band = expanded uncertainty", () => {
  const limits = { lowVolts: 4.75, highVolts: 5.25, expandedVolts: 0.02 };
  it.each([
    [5.0, "pass"],
    [5.23, "pass"],
    [5.2301, "conditional-pass"],
    [5.25, "conditional-pass"],
    [5.2501, "conditional-fail"],
    [5.27, "conditional-fail"],
    [5.2701, "fail"],
    [4.77, "pass"],
    [4.76, "conditional-pass"],
    [4.74, "conditional-fail"],
    [4.72, "fail"],
  ] as const)("%f V is %s", (volts, verdict) => {
    expect(railVerdict({ ...limits, volts }).verdict).toBe(verdict);
  });
  it("has a false accept of 2.3 % at most where it says pass (4.2.2: under 2.5 %)", () => {
    const edge = railVerdict({ ...limits, volts: 5.23 });
    expect(1 - (edge.conformity ?? 0)).toBeCloseTo(0.02275, 4);
  });
  it("is never a pass where the guard bands meet", () => {
    const wide = railVerdict({ ...limits, volts: 5, expandedVolts: 0.3 });
    expect(wide.verdict).toBe("conditional-pass");
  });
  it("says nothing of a rail that was not measured", () => {
    expect(railVerdict({ ...limits, volts: null })).toEqual({
      verdict: "not-measured",
      expandedVolts: null,
      conformity: null,
    });
    expect(railVerdict({ ...limits, volts: Number.NaN }).verdict).toBe("not-measured");
  });
  it("takes the drop of a lead as uncertainty", () => {
    expect(railVerdict({ ...limits, volts: 5.22, leadDropVolts: 0.05 }).verdict).toBe("conditional-pass");
  });
  it("has the limits of a rail from its tolerance", () => {
    // ATX 3.0 design guide, table 3-5: 12 V at the card +5 % / −8 %.
    const aux = voltsLimits({ volts: 12, tolerance: [-0.08, 0.05] });
    expect(aux.low).toBeCloseTo(11.04, 9);
    expect(aux.high).toBeCloseTo(12.6, 9);
  });
});

describe("a meter's accuracy", () => {
  // A meter's manual: 5 V on a 10 V range at ±(0.0020 % + 0.0005 %) is ±150 µV; JCGM 100:2008, 4.3.7.
  it("±150 µV at 5 V, as a rectangle, is a standard uncertainty of 86.6025 µV", () => {
    const halfWidth = 5 * 0.00002 + 10 * 0.000005;
    expect(halfWidth).toBeCloseTo(150e-6, 12);
    expect(rectangularUncertainty(halfWidth) * 1e6).toBeCloseTo(86.6025, 4);
    const verdict = railVerdict({ volts: 5, lowVolts: 4.75, highVolts: 5.25, halfWidthVolts: halfWidth });
    expect((verdict.expandedVolts ?? 0) * 1e6).toBeCloseTo(2 * 86.6025, 3);
  });
});

describe("copper", () => {
  // IEC 60028: 0.00393 a kelvin from 20 °C on. 2 × 1 m of AWG 18 at 5.5 A drop 0.2304 V at 20 °C, 0.2576 V at 50 °C.
  it("has 1.118 times its resistance at 50 °C, and its own at 20 °C", () => {
    expect(copperShare(50)).toBeCloseTo(0.2576 / 0.2304, 3);
    expect(copperShare(20)).toBe(1);
  });
});
