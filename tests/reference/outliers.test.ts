import { describe, expect, it } from "vitest";
import { discoveryRates } from "../../src/analysis/benjamini-hochberg.ts";
import { robustDeviations } from "../../src/analysis/robust-deviation.ts";

// Y. Benjamini and Y. Hochberg, J. R. Stat. Soc. B 57 (1995) 289, section 4.1: the fifteen ordered p-values of Neuhaus et al. 1992.
const BH_1995 = [
  0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344, 0.0459, 0.324, 0.4262, 0.5719, 0.6528, 0.759, 1,
];

const rejected = (pValues: readonly number[], rate: number): number[] =>
  discoveryRates(pValues).flatMap((each, index) => (each <= rate ? [index] : []));

describe("discoveryRates() against the paper's own example", () => {
  it("rejects the four smallest at 5 %, where Bonferroni's bound rejects three", () => {
    expect(rejected(BH_1995, 0.05)).toEqual([0, 1, 2, 3]);
    expect(BH_1995.filter((p) => p <= 0.05 / BH_1995.length)).toHaveLength(3);
    // The paper's deciding comparison: p(4) = 0.0095 <= 4/15 · 0.05 = 0.013, and p(5) = 0.0201 is above 0.0167.
    expect(discoveryRates(BH_1995)[3]).toBeCloseTo((0.0095 * 15) / 4, 10);
  });

  it("does not depend on the order", () => {
    const shuffled = [7, 2, 14, 0, 9, 3, 11, 1, 5, 13, 4, 10, 6, 12, 8].map((index) => BH_1995[index] ?? 1);
    expect(rejected(shuffled, 0.05).map((index) => shuffled[index])).toEqual([0.0019, 0.0001, 0.0095, 0.0004]);
  });
});

/** The values that stand out at a false-discovery rate of 5 %. */
const outliers = (values: readonly number[]): number[] =>
  rejected(robustDeviations(values).pValues, 0.05)
    .map((index) => values[index] ?? Number.NaN)
    .sort((a, b) => a - b);

describe("median, MAD and false-discovery rate against published data with several outliers", () => {
  it("Rosner's 54 values: the three largest, as the generalised ESD test finds (NIST/SEMATECH e-Handbook, 1.3.5.17.3)", () => {
    // biome-ignore format: a table
    const ROSNER = [
      -0.25, 0.68, 0.94, 1.15, 1.2, 1.26, 1.26, 1.34, 1.38, 1.43, 1.49, 1.49, 1.55, 1.56, 1.58, 1.65, 1.69, 1.7, 1.76,
      1.77, 1.81, 1.91, 1.94, 1.96, 1.99, 2.06, 2.09, 2.1, 2.14, 2.15, 2.23, 2.24, 2.26, 2.35, 2.37, 2.4, 2.47, 2.54,
      2.62, 2.64, 2.9, 2.92, 2.92, 2.93, 3.21, 3.26, 3.3, 3.59, 3.68, 4.3, 4.64, 5.34, 5.42, 6.01,
    ];
    expect(outliers(ROSNER)).toEqual([5.34, 5.42, 6.01]);
  });
  it("Grubbs 1950: one mass of eight, 245.57, by the test of Grubbs (NIST/SEMATECH e-Handbook, 1.3.5.17.1)", () => {
    expect(outliers([199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57])).toEqual([245.57]);
  });
});

/** Park and Miller's generator (Commun. ACM 31 (1988) 1192): nothing of the code under test. */
function normalSource(seed: number): () => number {
  let state = seed;
  const uniform = (): number => {
    state = (state * 48_271) % 2_147_483_647;
    return state / 2_147_483_647;
  };
  return () => Math.sqrt(-2 * Math.log(uniform())) * Math.sin(2 * Math.PI * uniform());
}

describe("groups of good points", () => {
  // Where nothing is wrong, a discovery is a false one: the rate is the share of groups with any (the paper's section 2.1).
  it.each([4, 5, 8, 16, 32])("of %i normal values: one in twenty has a false outlier, no more", (n) => {
    const normal = normalSource(1000 + n);
    const groups = 3000;
    let wrong = 0;
    for (let group = 0; group < groups; group++)
      if (outliers(Array.from({ length: n }, () => 450 + 5 * normal())).length > 0) wrong++;
    // Three standard deviations of a binomial share of 5 % in 3000 are 1.2 %.
    expect(wrong / groups).toBeLessThan(0.062);
    expect(wrong / groups).toBeGreaterThan(0.03);
  });
});

describe("robustDeviations()", () => {
  it("values that are all equal but one: that one stands out, and nothing is divided by nothing", () => {
    expect(outliers([1, 1, 1, 1, 1, 1.2])).toEqual([1.2]);
    expect(outliers([2, 2, 2, 2, 2, 2])).toEqual([]);
  });
  it("a floor keeps differences that mean nothing from standing out", () => {
    const values = [450, 450.01, 450.02, 449.99, 450, 450.01, 450.3];
    expect(outliers(values)).toEqual([450.3]);
    const { pValues } = robustDeviations(values, 4.5);
    expect(Math.min(...discoveryRates(pValues))).toBeGreaterThan(0.5);
  });
});
