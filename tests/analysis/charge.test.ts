import { describe, expect, it } from "vitest";
import { inputCapacitanceOf } from "../../src/analysis/input-capacitance.ts";
import { energyOf, integralOf } from "../../src/analysis/integrals.ts";
import { limitedReadings, timeInLimit } from "../../src/analysis/limiting.ts";
import { readIntervalOf } from "../../src/analysis/read-interval.ts";
import { ampsUncertainty, voltsUncertainty } from "../../src/analysis/reading-uncertainty.ts";
import { shortResistanceOf } from "../../src/analysis/short-resistance.ts";
import { stamps } from "./series.ts";

/** A capacitor charged at a constant current to `volts`, then held; the step between readings is `intervalMs`. */
function constantCurrentCharge(farads: number, volts: number, amps: number, intervalMs: number, siemens = 0) {
  const fullMs = (1000 * farads * volts) / amps;
  const atMs = stamps(Math.ceil((2 * fullMs) / intervalMs), intervalMs);
  const level = atMs.map((t) => Math.min(volts, (volts * t) / fullMs));
  return { atMs, volts: level, amps: level.map((v) => (v < volts ? amps : 0) + siemens * v), fullMs };
}

describe("charge, by constant current: t = C·ΔV/I", () => {
  // A load switch's data sheet: 22 µF, 9.6 V, 0.4 A take 528 µs; 957 µs ask for 220 mA.
  it("takes 528 µs for 22 µF over 9.6 V at 0.4 A", () => {
    const { fullMs, atMs, amps } = constantCurrentCharge(22e-6, 9.6, 0.4, 0.001);
    expect(fullMs).toBeCloseTo(0.528, 6);
    expect(integralOf(atMs, amps)).toBeCloseTo(22e-6 * 9.6, 6);
    const limited = limitedReadings({
      atMs,
      volts: atMs.map((t) => (9.6 * t) / 0.528),
      amps,
      mode: null,
      limitAmps: atMs.map(() => 0.4),
      setVolts: atMs.map(() => 9.6),
      stepAmps: 0,
    });
    // Volts above 97 % of the set-point no longer count, hence 3 % less than the whole.
    expect(timeInLimit(atMs, limited, 1).totalMs).toBeCloseTo(0.97 * 0.528, 2);
    expect((22e-6 * 9.6) / 957e-6).toBeCloseTo(0.22, 2);
  });
  it("takes 12 ms for 1 mF to 12 V at 1 A, and stores 72 mJ", () => {
    const { fullMs, atMs, volts, amps } = constantCurrentCharge(0.001, 12, 1, 0.02);
    expect(fullMs).toBeCloseTo(12, 9);
    expect(energyOf({ atMs, volts, amps, together: true }).joules).toBeCloseTo(0.072, 3);
  });
});

describe("RC inrush", () => {
  // V = 12 V, R = 0.5 Ω, C = 2 mF: ∫i²dt = C·V²/(2R), charge C·V, loss ½CV² beside the ½CV² stored.
  const tauMs = 1;
  const atMs = stamps(20_000, 0.001);
  const amps = atMs.map((t) => (12 / 0.5) * Math.exp(-t / tauMs));
  it("brings the charge C·V and takes the energy C·V² from the supply", () => {
    expect(integralOf(atMs, amps)).toBeCloseTo(0.024, 6);
    const volts = new Float64Array(atMs.length).fill(12);
    expect(energyOf({ atMs, volts, amps, together: true }).joules).toBeCloseTo(0.288, 5);
  });
});

describe("energyOf()", () => {
  const atMs = stamps(4, 100);
  const volts = Float64Array.of(0, 12, 12, 12);
  const amps = Float64Array.of(0, 2, 1, 1);
  it("does not multiply what was not read together while it moves, and says how much is in doubt", () => {
    const { joules, doubtJoules } = energyOf({ atMs, volts, amps, together: false });
    expect(doubtJoules).toBeCloseTo((12 * 2 * 0.1) / 2 + (12 * 2 * 0.1) / 2, 9);
    expect(joules - doubtJoules).toBeCloseTo(12 * 1 * 0.1, 9);
    expect(energyOf({ atMs, volts, amps, together: true }).doubtJoules).toBe(0);
  });
  it("is nothing for one reading", () => {
    expect(
      energyOf({ atMs: stamps(1, 1), volts: Float64Array.of(12), amps: Float64Array.of(1), together: true }).joules,
    ).toBe(0);
  });
});

describe("inputCapacitanceOf()", () => {
  const span = { fromVolts: 0.2, toVolts: 4, leadOhms: 0 };
  it.each([0.0005, 0.001, 0.004])("finds %f F to 2 %", (farads) => {
    const trace = constantCurrentCharge(farads, 12, 2, 0.1);
    expect((inputCapacitanceOf(trace, span) ?? 0) / farads).toBeCloseTo(1, 1.7);
  });
  it("keeps a resistive load apart from the capacitor", () => {
    const trace = constantCurrentCharge(0.001, 12, 2, 0.1, 1 / 10);
    expect((inputCapacitanceOf(trace, span) ?? 0) / 0.001).toBeCloseTo(1, 1.5);
  });
  it("is null where a converter draws constant power, which is neither", () => {
    const trace = constantCurrentCharge(0.001, 12, 2, 0.1);
    const amps = trace.amps.map((value, i) => value + Math.min(5, 12 / Math.max(0.5, trace.volts[i] ?? 0)));
    expect(inputCapacitanceOf({ ...trace, amps }, { ...span, toVolts: 10 })).toBeNull();
  });
  it("is null where fewer than five readings saw the rise", () => {
    expect(inputCapacitanceOf(constantCurrentCharge(0.001, 12, 2, 2), span)).toBeNull();
  });
});

describe("limitedReadings()", () => {
  const atMs = stamps(4, 10);
  const base = { atMs, volts: Float64Array.of(12, 11, 5, 12), amps: Float64Array.of(1, 2, 2, 2), stepAmps: 0.01 };
  const limitAmps = Float64Array.of(2, 2, 2, 2);
  const setVolts = Float64Array.of(12, 12, 12, 12);
  it("believes the mode where there is one", () => {
    expect([...limitedReadings({ ...base, mode: Uint8Array.of(1, 1, 2, 2), limitAmps, setVolts })]).toEqual([
      0, 0, 1, 1,
    ]);
  });
  it("infers it from the current at the limit with the volts under the set-point", () => {
    expect([...limitedReadings({ ...base, mode: null, limitAmps, setVolts })]).toEqual([0, 1, 1, 0]);
  });
  it("says that it cannot be known without a limit", () => {
    expect([...limitedReadings({ ...base, mode: null, limitAmps: null, setVolts })]).toEqual([0, 2, 2, 0]);
  });
  it("does not count a gap in the record", () => {
    const times = Float64Array.of(0, 10, 20, 5000, 5010);
    const { totalMs, longestMs } = timeInLimit(times, Uint8Array.of(0, 1, 1, 1, 0), 50);
    expect(totalMs).toBe(5 + 10 + 25 + 25 + 5);
    expect(longestMs).toBe(70);
  });
});

describe("shortResistanceOf()", () => {
  it("takes off the leads: 2 × 1 m of AWG 18 and two clips make 30 mΩ look like 0.1 Ω", () => {
    const reading = { volts: 0.1, amps: 1, voltsU: 0.001, ampsU: 0.002 };
    expect(shortResistanceOf({ ...reading, leadOhms: 0.07 }).ohms).toBeCloseTo(0.03, 9);
    expect(shortResistanceOf({ ...reading, leadOhms: null }).ohms).toBeCloseTo(0.1, 9);
    // Relative uncertainties add as squares (JCGM 100:2008, 5.1.6): 1 % and 0.2 %, k = 2.
    expect(shortResistanceOf({ ...reading, leadOhms: null }).expandedOhms).toBeCloseTo(
      2 * 0.1 * Math.hypot(0.01, 0.002),
      9,
    );
  });
  it("is never below zero, whatever the leads are said to be", () => {
    expect(shortResistanceOf({ volts: 0, amps: 1, leadOhms: 0.05, voltsU: 0.001, ampsU: 0.001 }).ohms).toBe(0);
  });
});

describe("uncertainty of a reading", () => {
  it("is 86.6025 µV for 5 V on a 10 V range at ±(0.0020 % + 0.0005 %) (a meter's manual; JCGM 100:2008, 4.3.7)", () => {
    const u = voltsUncertainty(5, { voltsShare: 0.00002, voltsOffset: 10 * 0.000005 }, 0);
    expect(u * 1e6).toBeCloseTo(86.6025, 3);
  });
  it("grows with a coarse step", () => {
    expect(ampsUncertainty(0, { ampsShare: 0, ampsOffset: 0 }, 0.01)).toBeCloseTo(0.005 / Math.sqrt(3), 9);
  });
});

describe("readIntervalOf()", () => {
  it("is the median, not moved by a gap; null for one reading", () => {
    expect(readIntervalOf(Float64Array.of(0, 50, 100, 900, 950))).toBe(50);
    expect(readIntervalOf(Float64Array.of(3))).toBeNull();
  });
});
