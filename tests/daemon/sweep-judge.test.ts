import { describe, expect, test } from "vitest";
import type { SweepCapture, SweepPoint } from "../../shared/sweep.ts";
import { neverPower } from "../../src/analysis/cold-judgement.ts";
import { coldItems } from "../../src/plan/permit/permit-cold.ts";
import { judgeCapture } from "../../src/verdict/sweep/sweep-judge.ts";
import { kestrelPlan } from "../plan/example-plan.ts";
import { kestrel, kestrelSweep } from "../sweep/kestrel-sweep.ts";
import { point } from "../sweep/one-point.ts";

const capture = (value: number | null, more: Partial<SweepCapture> = {}): SweepCapture => ({
  index: 0,
  how: "contact",
  value,
  overload: false,
  halfWidth: 0.002,
  standardError: 0,
  readings: 8,
  moving: "no",
  tookMs: 500,
  questioned: null,
  corrects: false,
  ...more,
});
const onBoard = { groundDropVolts: 0 };
const ohmsOf = (rail: string, more: Partial<SweepPoint> = {}): SweepPoint => {
  const { expected, low, high, shortBelow } = kestrelSweep.limitsOf(rail, "ohms");
  return point(rail, expected ?? 0, { quantity: "ohms", low, high, shortBelow, ...more });
};

describe("volts", () => {
  test("the meter's accuracy is a rectangle: 5 V on a 10 V range at ±(0.0020 % + 0.0005 %) has U = 173 µV", () => {
    // ±150 µV, u = 86.6025 µV (a meter's manual; JCGM 100:2008, 4.3.7), k = 2.
    const rail = judgeCapture(point("5v", 5), capture(5, { halfWidth: 5 * 20e-6 + 10 * 5e-6 }), onBoard);
    expect(rail.expandedVolts).toBeCloseTo(2 * 86.6025e-6, 9);
    expect(rail).toMatchObject({ verdict: "pass", volts: 5 });
    expect(rail.conformity).toBeCloseTo(1, 9);
  });

  // ILAC-G8:09/2019, 4.2.3: U = 2·0.01732/√3 = 20 mV about a lower limit of 4.75 V.
  test.each([
    [4.78, "pass"],
    [4.76, "conditional-pass"],
    [4.74, "conditional-fail"],
    [4.72, "fail"],
  ])("%d V against 4.75 V with U = 20 mV is %s", (volts, verdict) => {
    const rail = judgeCapture(point("5v", 5), capture(volts, { halfWidth: 0.01 * Math.sqrt(3) }), onBoard);
    expect(rail.expandedVolts).toBeCloseTo(0.02, 9);
    expect(rail.verdict).toBe(verdict);
  });

  test("a black probe at the supply adds the return's drop: 1 m of AWG 18 at 5.5 A makes a pass conditional", () => {
    // 2 × 1 m of AWG 18 at 5.5 A drop 0.2304 V (IEC 60028, ASTM B258); the return alone half of that.
    const drop = 0.2304 / 2;
    expect(judgeCapture(point("5v", 5), capture(4.85), onBoard).verdict).toBe("pass");
    const rail = judgeCapture(point("5v", 5), capture(4.85), { groundDropVolts: drop });
    expect(rail.expandedVolts).toBeCloseTo((2 * drop) / Math.sqrt(3), 3);
    expect(rail.verdict).toBe("conditional-pass");
  });

  test("a meter nobody states the accuracy of gets a usual one, and that is said", () => {
    const rail = judgeCapture(point("5v", 5), capture(5, { halfWidth: null }), onBoard);
    expect(rail.expandedVolts).toBeCloseTo((2 * (0.005 * 5 + 0.005)) / Math.sqrt(3), 9);
    expect(rail.because.join()).toContain("accuracy is not stated");
  });

  test("what was not read is not measured, and what no range holds fails", () => {
    expect(judgeCapture(point("5v", 5), capture(null, { how: "skipped" }), onBoard).verdict).toBe("not-measured");
    expect(judgeCapture(point("5v", 5), capture(null, { overload: true }), onBoard).verdict).toBe("fail");
  });
});

describe("ohms", () => {
  test("a big core at 0.2 Ω is no short with four wires; two wires with their leads in it cannot say for sure", () => {
    const fourWire = {
      function: "fourWireOhms" as const,
      rangeUpTo: null,
      powerLineCycles: null,
      channel: null,
      leadNullOhms: null,
    };
    const four = judgeCapture(ohmsOf("core", { setting: fourWire }), capture(0.2, { halfWidth: 0.005 }), onBoard);
    expect(four.verdict).toBe("pass");
    const two = judgeCapture(ohmsOf("core"), capture(0.2, { halfWidth: 0.005 }), onBoard);
    expect(two.verdict).toBe("conditional-pass");
    expect(two.because.join()).toContain("not nulled");
  });

  test("the same 0.2 Ω on memory is a short", () => {
    const rail = judgeCapture(ohmsOf("mem"), capture(0.2), onBoard);
    expect(rail.verdict).toBe("fail");
    expect(rail.because[0]).toContain("a short");
  });

  test("open fails where an end is known, and is as good as can be between two points that must be apart", () => {
    const open = capture(null, { overload: true, how: "take" });
    expect(judgeCapture(ohmsOf("aux"), open, onBoard)).toMatchObject({ verdict: "fail", ohms: "open" });
    expect(judgeCapture(ohmsOf("aux:core"), open, onBoard)).toMatchObject({ verdict: "pass", ohms: "open" });
  });

  test("what still rises is at least what it reads: enough for a pair, conditional where it may rise too far or far enough", () => {
    const rising = (value: number): SweepCapture => capture(value, { moving: "rising", how: "take" });
    expect(judgeCapture(ohmsOf("aux:core"), rising(2000), onBoard).verdict).toBe("pass");
    expect(judgeCapture(ohmsOf("aux"), rising(2000), onBoard).verdict).toBe("conditional-pass");
    expect(judgeCapture(ohmsOf("aux"), rising(200), onBoard).verdict).toBe("conditional-fail");
  });
});

describe("never power", () => {
  // 12 V to core as the core itself reads, or under 20 Ω: a shorted high side (common practice, no source).
  test.each([
    [{ core: 0.4, "aux:core": 0.45 }, "aux:core"],
    [{ core: 4, "aux:core": 15 }, "aux:core"],
    [{ core: 0.4, aux: 0.43 }, "aux"],
    [{ aux: 60 }, "aux"],
    [{ slot3v3: 6 }, "slot3v3"],
    // Under the board file's least of 150 Ω, where the permit refuses too.
    [{ slot3v3: 30 }, "slot3v3"],
    // Under the board file's least of 100 Ω, though above 20 Ω.
    [{ "aux:core": 60 }, "aux:core"],
  ])("%j", (cold, where) => {
    expect([...neverPower(kestrel, cold).keys()]).toEqual([where]);
  });

  test.each([12, 19, 21, 60, 99, 101, 160, 290, 310, 5000])(
    "stands against %d Ω at any point just where the permit refuses it",
    (ohms) => {
      const plan = kestrelPlan();
      const points = [...Object.keys(kestrel.feeds), ...Object.keys(kestrel.coldPairs), ...Object.keys(kestrel.rails)];
      for (const point of points) {
        const refused = coldItems(plan, kestrel, { coldOhms: { [point]: ohms } }).some(
          (each) => each.state === "measured-bad",
        );
        expect(neverPower(kestrel, { [point]: ohms }).size > 0, point).toBe(refused);
      }
    },
  );

  test.each([
    [{ core: 0.4, "aux:core": 3100, aux: 12_400 }],
    [{ aux: "open" as const, "aux:core": "open" as const }],
    [{ slot3v3: 200 }],
  ])("nothing stands against %j", (cold) => {
    expect([...neverPower(kestrel, cold).keys()]).toEqual([]);
  });
});
