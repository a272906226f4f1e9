import { describe, expect, it } from "vitest";
import { changePenaltyOf, changePointsOf } from "../../src/analysis/change-points.ts";
import { normalShareBelow } from "../../src/analysis/normal-share.ts";
import { predictionFactor } from "../../src/analysis/prediction-factor.ts";
import { univariateOf } from "../../src/analysis/univariate.ts";

/** How many leading digits agree with a certified value (NIST's log relative error). */
const agreeingDigits = (found: number, certified: number): number =>
  found === certified ? 16 : -Math.log10(Math.abs(found - certified) / Math.abs(certified));

const alternating = (first: number, low: number, high: number): number[] => {
  const values = [first];
  for (let pair = 0; pair < 500; pair++) values.push(low, high);
  return values;
};

// NIST StRD, univariate summary statistics: data and certified values.
const MAVRO = [
  2.0018, 2.0017, 2.0018, 2.0019, 2.0018, 2.0017, 2.0015, 2.0014, 2.0015, 2.0015, 2.0017, 2.0018, 2.0018, 2.0019,
  2.0019, 2.0021, 2.002, 2.0016, 2.0014, 2.0013, 2.0013, 2.0015, 2.0015, 2.0016, 2.0015, 2.0014, 2.0013, 2.0014, 2.0015,
  2.0014, 2.0015, 2.0016, 2.0015, 2.0016, 2.0019, 2.002, 2.002, 2.0021, 2.0022, 2.0023, 2.0024, 2.0025, 2.0027, 2.0026,
  2.0026, 2.0026, 2.0027, 2.0026, 2.0025, 2.0024,
];

const STRD = [
  {
    name: "NumAcc1",
    values: [10000001, 10000003, 10000002],
    mean: 10000002,
    stdDev: 1,
    lag1: -0.5,
    digits: [15, 15, 15],
  },
  { name: "NumAcc2", values: alternating(1.2, 1.1, 1.3), mean: 1.2, stdDev: 0.1, lag1: -0.999, digits: [14, 13, 12] },
  // The data themselves, as doubles, are off by 1e-10 of their spread: more digits are not in them.
  {
    name: "NumAcc3",
    values: alternating(1000000.2, 1000000.1, 1000000.3),
    mean: 1000000.2,
    stdDev: 0.1,
    lag1: -0.999,
    digits: [15, 9, 9],
  },
  {
    name: "NumAcc4",
    values: alternating(10000000.2, 10000000.1, 10000000.3),
    mean: 10000000.2,
    stdDev: 0.1,
    lag1: -0.999,
    digits: [15, 8, 8],
  },
  {
    name: "Mavro",
    values: MAVRO,
    mean: 2.001856,
    stdDev: 0.000429123454003053,
    lag1: 0.937989183438248,
    digits: [15, 12, 12],
  },
] as const;

describe("univariateOf() against the certified values of NIST StRD", () => {
  it.each(STRD)("$name", ({ values, mean, stdDev, lag1, digits }) => {
    const found = univariateOf(values);
    expect(agreeingDigits(found.mean, mean)).toBeGreaterThanOrEqual(digits[0]);
    expect(agreeingDigits(found.stdDev, stdDev)).toBeGreaterThanOrEqual(digits[1]);
    expect(agreeingDigits(found.lag1, lag1)).toBeGreaterThanOrEqual(digits[2]);
  });
});

// Annual flow of the Nile at Aswan 1871–1970 (Cobb 1978, Biometrika 65, table 1).
const NILE = [
  1120, 1160, 963, 1210, 1160, 1160, 813, 1230, 1370, 1140, 995, 935, 1110, 994, 1020, 960, 1180, 799, 958, 1140, 1100,
  1210, 1150, 1250, 1260, 1220, 1030, 1100, 774, 840, 874, 694, 940, 833, 701, 916, 692, 1020, 1050, 969, 831, 726, 456,
  824, 702, 1120, 1100, 832, 764, 821, 768, 845, 864, 862, 698, 845, 744, 796, 1040, 759, 781, 865, 845, 944, 984, 897,
  822, 1010, 771, 676, 649, 846, 812, 742, 801, 1040, 860, 874, 848, 890, 744, 749, 838, 1050, 918, 986, 797, 923, 975,
  815, 1020, 906, 901, 1170, 912, 746, 919, 718, 714, 740,
];

/** Σ(y − mean)² of values[from, to), added up. */
const residualCost = (values: readonly number[]) => (from: number, to: number) => {
  const part = values.slice(from, to);
  const mean = part.reduce((sum, value) => sum + value, 0) / part.length;
  return part.reduce((sum, value) => sum + (value - mean) ** 2, 0);
};

describe("changePointsOf() on the flow of the Nile", () => {
  it("finds the one break after observation 28, the year 1898 (Cobb 1978; R strucchange)", () => {
    expect(NILE).toHaveLength(100);
    expect(changePointsOf(NILE)).toEqual([28, 100]);
  });
  it("leaves the residual squares of R strucchange: 2835157 without and 1597457 with the break", () => {
    const cost = residualCost(NILE);
    expect(Math.round(cost(0, 100))).toBe(2835157);
    expect(Math.round(cost(0, 28) + cost(28, 100))).toBe(1597457);
  });
  it("has the segment means 1097.75 and 849.972", () => {
    expect(univariateOf(NILE.slice(0, 28)).mean).toBeCloseTo(1097.75, 10);
    expect(univariateOf(NILE.slice(28)).mean).toBeCloseTo(849.972, 3);
  });
  it("needs one break by the Bayesian information criterion, not none and not two", () => {
    const cost = residualCost(NILE);
    const criterion = (ends: readonly number[]): number => {
      const squares = ends.reduce((sum, end, index) => sum + cost(ends[index - 1] ?? 0, end), 0);
      return 100 * Math.log(squares / 100) + 2 * ends.length * Math.log(100);
    };
    const byBreaks = new Map<number, number>();
    for (let penalty = 2_000_000; penalty > 20_000; penalty *= 0.97) {
      const ends = changePointsOf(NILE, { penalty });
      byBreaks.set(ends.length - 1, criterion(ends));
    }
    const one = byBreaks.get(1) ?? Number.NaN;
    expect(byBreaks.size).toBeGreaterThan(2);
    for (const [breaks, value] of byBreaks) if (breaks !== 1) expect(value).toBeGreaterThan(one);
  });
  it("has a penalty that lies between what the break and what noise would save", () => {
    const cost = residualCost(NILE);
    const saved = cost(0, 100) - cost(0, 28) - cost(28, 100);
    expect(changePenaltyOf(NILE)).toBeLessThan(saved);
    expect(changePenaltyOf(NILE)).toBeGreaterThan(50_000);
  });
});

describe("predictionFactor(), 95 %: t(0.975, n − 1)·√(1 + 1/n)", () => {
  // Computed from tables of Student's t.
  it.each([
    [2, 15.56],
    [3, 4.97],
    [4, 3.56],
    [5, 3.04],
    [8, 2.51],
    [10, 2.37],
  ])("n = %i gives %f", (n, k) => {
    expect(predictionFactor(n)).toBeCloseTo(k, 2);
  });
  it("is unbounded for a single capture", () => {
    expect(predictionFactor(1)).toBe(Number.POSITIVE_INFINITY);
  });
});

describe("normalShareBelow()", () => {
  it("leaves 0.02275 above two standard deviations (ILAC-G8:09/2019, 4.2.2)", () => {
    expect(1 - normalShareBelow(2)).toBeCloseTo(0.02275, 5);
  });
  // JCGM 106:2012, inputs and printed results from memory, arithmetic done again.
  it("gives the conformity of the Zener voltage, 0.9192, and of the container strength, 0.9890", () => {
    expect(normalShareBelow((-5.4 - -5.47) / 0.05)).toBeCloseTo(0.9192, 4);
    expect(1 - normalShareBelow((490 - 509.7) / 8.6)).toBeCloseTo(0.989, 4);
  });
  // Abramowitz and Stegun, table 26.1, from memory.
  it("keeps its tail: 2.866516e-7 below −5", () => {
    expect(normalShareBelow(-5)).toBeCloseTo(2.866516e-7, 12);
  });
});
