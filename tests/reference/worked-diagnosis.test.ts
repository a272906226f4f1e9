import { describe, expect, it } from "vitest";
import { entropyBits, grouped, updated } from "../../src/verdict/diagnosis/belief.ts";
import { expectedDropBits } from "../../src/verdict/diagnosis/expected-drop.ts";

/*
 * de Kleer and Williams, "Diagnosing multiple faults", Artificial Intelligence 32 (1987), 97–130: three multipliers and two
 * adders; A 3, B 2, C 2, D 3, E 3; F = A·C + B·D should be 12 and is 10, G = B·D + C·E is 12 as it should be. (Inputs and
 * results from memory.) A component that failed puts out any other whole number up to MOST, all alike.
 */
const COMPONENTS = ["M1", "M2", "M3", "A1", "A2"] as const;
const MOST = 15;
const FAILS = 0.01;

interface World {
  failed: string[];
  outputs: Record<"X" | "Y" | "Z" | "F" | "G", number>;
  prior: number;
}

/** Every way in which at most two components failed. */
function worlds(): World[] {
  const list: World[] = [];
  const add = (faults: Partial<Record<(typeof COMPONENTS)[number], number>>): void => {
    const X = faults.M1 ?? 3 * 2;
    const Y = faults.M2 ?? 2 * 3;
    const Z = faults.M3 ?? 2 * 3;
    const outputs = { X, Y, Z, F: faults.A1 ?? X + Y, G: faults.A2 ?? Y + Z };
    const right = { M1: 6, M2: 6, M3: 6, A1: X + Y, A2: Y + Z };
    const failed = Object.keys(faults) as (typeof COMPONENTS)[number][];
    // A component that puts out what it should has not failed.
    if (failed.some((each) => faults[each] === right[each])) return;
    const prior = failed.reduce((share) => (share * FAILS) / MOST, (1 - FAILS) ** (COMPONENTS.length - failed.length));
    list.push({ failed, outputs, prior });
  };
  add({});
  COMPONENTS.forEach((first, at) => {
    for (let one = 0; one <= MOST; one++) {
      add({ [first]: one });
      for (const second of COMPONENTS.slice(at + 1))
        for (let two = 0; two <= MOST; two++) add({ [first]: one, [second]: two });
    }
  });
  return list;
}

const WORLDS = worlds();
const observed = (point: "X" | "Y" | "Z" | "F" | "G", value: number): number[] =>
  WORLDS.map(({ outputs }) => (outputs[point] === value ? 1 : 0));
const NAMES = [...new Set(WORLDS.map(({ failed }) => failed.join("+")))];
const GROUP_OF = WORLDS.map(({ failed }) => NAMES.indexOf(failed.join("+")));
const AFTER_F = updated(
  WORLDS.map(({ prior }) => prior),
  observed("F", 10),
);
const AFTER_BOTH = updated(AFTER_F, observed("G", 12));

const believed = (belief: readonly number[]): Record<string, number> => {
  const sums = grouped(belief, GROUP_OF);
  return Object.fromEntries(NAMES.map((name, index) => [name, sums[index] ?? 0]));
};
const probe = (point: "X" | "Y" | "Z"): number => {
  const chance = WORLDS.map(({ outputs }) =>
    Array.from({ length: 31 }, (_, value) => (outputs[point] === value ? 1 : 0)),
  );
  return expectedDropBits(AFTER_BOTH, { chance }, GROUP_OF);
};

describe("the worked diagnosis of de Kleer and Williams (1987)", () => {
  it("leaves the first multiplier and the first adder as the only single faults", () => {
    const belief = believed(AFTER_BOTH);
    const singles = COMPONENTS.filter((each) => (belief[each] ?? 0) > 0);
    expect(singles).toEqual(["M1", "A1"]);
    expect(belief["M1"]).toBeCloseTo(belief["A1"] ?? 0, 10);
    expect(belief[""]).toBe(0);
  });
  it("had the second multiplier too while only F was known", () => {
    const belief = believed(AFTER_F);
    expect(COMPONENTS.filter((each) => (belief[each] ?? 0) > 0)).toEqual(["M1", "M2", "A1"]);
  });
  it("keeps the double faults M2+M3 and M2+A2, which no part of either explains", () => {
    const belief = believed(AFTER_BOTH);
    expect(belief["M2+M3"]).toBeGreaterThan(0);
    expect(belief["M2+A2"]).toBeGreaterThan(0);
    // A double fault weighs about FAILS/MOST of a single one.
    expect((belief["M2+M3"] ?? 0) / (belief["M1"] ?? 1)).toBeCloseTo(FAILS / MOST / (1 - FAILS), 6);
    for (const none of ["M2", "M3", "A2", "M3+A2"]) expect(belief[none]).toBe(0);
  });
  it("asks for the first multiplier's output next, which parts the two", () => {
    expect(probe("X")).toBeGreaterThan(0.9);
    expect(probe("X")).toBeGreaterThan(5 * probe("Y"));
    expect(probe("X")).toBeGreaterThan(5 * probe("Z"));
  });
  it("finds the first adder where that output is 6, the first multiplier where it is 4", () => {
    expect(believed(updated(AFTER_BOTH, observed("X", 6)))["A1"]).toBeGreaterThan(0.99);
    expect(believed(updated(AFTER_BOTH, observed("X", 4)))["M1"]).toBeGreaterThan(0.9);
  });
});

describe("expectedDropBits()", () => {
  const halves = [
    [1, 0],
    [0, 1],
  ];
  it("is one bit where a reading parts two equal faults for certain, and none where it parts nothing", () => {
    expect(expectedDropBits([0.5, 0.5], { chance: halves })).toBeCloseTo(1, 12);
    const same = [
      [0.3, 0.7],
      [0.3, 0.7],
    ];
    expect(expectedDropBits([0.5, 0.5], { chance: same })).toBeCloseTo(0, 12);
  });
  // Cover and Thomas, Elements of Information Theory: capacity 1 − H(p) of a binary symmetric channel (from memory).
  it("is 1 − H(0.11) = 0.5001 bits where a reading errs in 11 % of cases", () => {
    const errs = [
      [0.89, 0.11],
      [0.11, 0.89],
    ];
    expect(expectedDropBits([0.5, 0.5], { chance: errs })).toBeCloseTo(0.5001, 4);
    expect(1 - entropyBits([0.11, 0.89])).toBeCloseTo(0.5001, 4);
  });
});
