import { describe, expect, test } from "vitest";
import { benchOf, switchOn, timeUntil, truthOf } from "./bench-of.ts";

/** Relative error in percent. */
const percentOff = (value: number, wanted: number): number => Math.abs(value / wanted - 1) * 100;

describe("a capacitor charges as published", () => {
  // A load switch's data sheet, eq. 10–13: 22 µF, 9.6 V, 0.4 A → 528 µs; C·ΔV/I.
  test("22 µF to 9.6 V at 0.4 A takes 528 µs", () => {
    const bench = benchOf(
      { inputFarads: 22e-6, esrOhms: 0.0005, leadOhms: 0.01 },
      { riseMs: 0.01, outputFarads: 1e-6 },
    );
    switchOn(bench, 12, 0.4);
    const atMs = timeUntil(bench, () => bench.feed("in").circuit.capacitorVolts >= 9.6, 0.005, 5);
    // The supply's own microfarad is charged at the same rate.
    expect(percentOff(atMs, 0.528 * (23 / 22))).toBeLessThan(3);
  });

  // The same data sheet: charged in 957 µs, the current is C·ΔV/t = 220 mA.
  test("22 µF to 9.6 V at 220 mA takes 957 µs", () => {
    const bench = benchOf(
      { inputFarads: 22e-6, esrOhms: 0.0005, leadOhms: 0.01 },
      { riseMs: 0.01, outputFarads: 1e-6 },
    );
    switchOn(bench, 12, 0.22);
    const atMs = timeUntil(bench, () => bench.feed("in").circuit.capacitorVolts >= 9.6, 0.005, 5);
    expect(percentOff(atMs, 0.957 * (23 / 22))).toBeLessThan(3);
  });

  // Arithmetic: C·V/I = 1000 µF · 12 V / 1 A.
  test("1000 µF to 12 V at 1 A takes 12 ms, all of it limiting", () => {
    const bench = benchOf({ leadOhms: 0.01 });
    switchOn(bench, 12, 1);
    bench.advanceTo(30);
    expect(percentOff(truthOf(bench).limitedMs, 12)).toBeLessThan(1.5);
    expect(percentOff(truthOf(bench).chargeCoulombs, 0.012)).toBeLessThan(0.1);
  });

  // ½CV² = 72 mJ at 1000 µF and 12 V, arithmetic.
  test("1000 µF at 12 V holds 72 mJ", () => {
    const bench = benchOf({ leadOhms: 0.01, esrOhms: 0.0005 });
    switchOn(bench, 12, 1);
    bench.advanceTo(30);
    const held = 0.5 * 0.001 * bench.feed("in").circuit.capacitorVolts ** 2;
    expect(percentOff(held, 0.072)).toBeLessThan(0.1);
    // At constant current next to nothing is lost in the 0.5 mΩ: I²·R·t = 6 µJ.
    expect(percentOff(truthOf(bench).energyJoules, 0.072)).toBeLessThan(0.3);
  });

  // RC: 63.2121, 86.4665, 95.0213, 98.1684, 99.3262 % after 1…5 τ; arithmetic, 1 − e^−n.
  test("through 1 Ω it stands at 63.2, 86.5, 95.0, 98.2, 99.3 % after 1 to 5 τ", () => {
    const bench = benchOf({ inputFarads: 0.01, leadOhms: 0.5, esrOhms: 0.5 }, { riseMs: 0.001, outputOhms: 0.0001 });
    switchOn(bench, 10, 15);
    [63.2121, 86.4665, 95.0213, 98.1684, 99.3262].forEach((wanted, index) => {
      bench.advanceTo((index + 1) * 10);
      expect(bench.feed("in").circuit.capacitorVolts * 10).toBeCloseTo(wanted, 0);
    });
  });

  // As much again as the capacitor holds is lost in any series resistance: ½CV², arithmetic.
  test("what series resistance burns while it charges is ½CV², whatever the resistance", () => {
    for (const esrOhms of [0.1, 1]) {
      const bench = benchOf(
        { inputFarads: 0.001, leadOhms: 0.001, esrOhms },
        { riseMs: 0.001, outputOhms: 0.0001, surgeAmps: 200 },
      );
      switchOn(bench, 10, 100);
      bench.advanceTo(100);
      const held = 0.5 * 0.001 * bench.feed("in").circuit.capacitorVolts ** 2;
      expect(percentOff(truthOf(bench).energyJoules - held, 0.05)).toBeLessThan(4);
    }
  });
});

describe("shorts and paths", () => {
  test("a resistor at the limit shows V = I·R at the card, and the leads their own drop", () => {
    const bench = benchOf({ leadOhms: 0.05, loads: [{ load: "resistor", ohms: 0.2 }] });
    switchOn(bench, 12, 2);
    bench.advanceTo(100);
    expect(truthOf(bench).boardVolts).toBeCloseTo(0.4, 4);
    expect(bench.feed("in").stage.terminalVolts).toBeCloseTo(0.5, 4);
    expect(truthOf(bench).limiting).toBe(true);
  });

  test("a diode path hardly moves between 0.2 and 0.4 A", () => {
    const volts = [0.2, 0.4].map((limitAmps) => {
      const bench = benchOf({ loads: [{ load: "junction", volts: 0.6, ohms: 0.03 }] });
      switchOn(bench, 0.95, limitAmps);
      bench.advanceTo(100);
      return truthOf(bench).boardVolts;
    });
    expect(volts[0]).toBeCloseTo(0.606, 4);
    expect(volts[1]).toBeCloseTo(0.612, 4);
  });

  test("a shorted high side puts the divided input on the core", () => {
    const bench = benchOf({ loads: [{ load: "shorted-high-side", pathOhms: 0.2, coreOhms: 0.8 }] });
    switchOn(bench, 0.9, 5);
    bench.advanceTo(100);
    expect(bench.truth().maxCoreVolts).toBeCloseTo(truthOf(bench).boardVolts * 0.8, 2);
  });
});

describe("converters", () => {
  const converter = { load: "converter", watts: 10.2, efficiency: 0.85, lockOutVolts: [7.5, 7] };

  // Constant power: the current grows by 12.6/11.04 = 14 % as the voltage falls from one end of the ±5/−8 % span to the other.
  test("draw 14 % more at 11.04 V than at 12.60 V", () => {
    const amps = [11.04, 12.6].map((volts) => {
      const bench = benchOf({ leadOhms: 0.001, loads: [converter] });
      switchOn(bench, volts, 5);
      bench.advanceTo(100);
      return truthOf(bench).amps;
    });
    expect((amps[0] ?? 0) / (amps[1] ?? 1)).toBeCloseTo(12.6 / 11.04, 2);
    expect(amps[1]).toBeCloseTo(12 / 12.6, 2);
  });

  test("draw nothing below their lock-out", () => {
    const bench = benchOf({ loads: [converter] });
    switchOn(bench, 7.3, 5);
    bench.advanceTo(200);
    expect(truthOf(bench).amps).toBeLessThan(1e-4);
    bench.feed("in").stage.setVolts = 12;
    bench.settingsChanged("in");
    bench.advanceTo(400);
    expect(truthOf(bench).amps).toBeCloseTo(1, 1);
    // Hysteresis: it runs on at the voltage at which it would not start.
    bench.feed("in").stage.setVolts = 7.3;
    bench.settingsChanged("in");
    bench.advanceTo(600);
    expect(truthOf(bench).amps).toBeCloseTo(12 / 7.3, 1);
  });

  // It starts where the limit times the nominal voltage exceeds its demand: 18 W at 12 V is 1.5 A (arithmetic).
  test.each([
    [1.0, "loops"],
    [1.6, "starts"],
  ])("a board that wants 18 W past a falling lock-out of 8 V, on a limit of %d A, %s", (limitAmps, what) => {
    const bench = benchOf({
      loads: [{ load: "converter", watts: 10, efficiency: 1, lockOutVolts: [9, 8], startWatts: 18, startMs: 200 }],
    });
    switchOn(bench, 12, limitAmps);
    bench.advanceTo(3000);
    const settled = truthOf(bench).boardVolts > 11.9 && !truthOf(bench).limiting;
    expect(settled).toBe(what === "starts");
  });
});

test("the answer does not depend on how often it is asked", () => {
  const run = (stepMs: number) => {
    const bench = benchOf({
      loads: [{ load: "converter", watts: 10, efficiency: 1, lockOutVolts: [7.5, 7], startWatts: 18, startMs: 20 }],
    });
    switchOn(bench, 12, 2);
    for (let atMs = 0; atMs <= 300; atMs += stepMs) bench.advanceTo(atMs);
    return truthOf(bench);
  };
  const coarse = run(300);
  const fine = run(0.1);
  expect(percentOff(fine.chargeCoulombs, coarse.chargeCoulombs)).toBeLessThan(0.5);
  expect(percentOff(fine.limitedMs, coarse.limitedMs)).toBeLessThan(2);
});

test("a limit that takes over late lets the surge through until then", () => {
  const bench = benchOf(
    { leadOhms: 0.05, inputFarads: 1e-6, loads: [{ load: "resistor", ohms: 0.05 }] },
    { limitDelayMs: 5, surgeAmps: 8 },
  );
  switchOn(bench, 1, 0.5);
  bench.advanceTo(4);
  expect(truthOf(bench).amps).toBeCloseTo(8, 1);
  bench.advanceTo(20);
  expect(truthOf(bench).amps).toBeCloseTo(0.5, 2);
  expect(truthOf(bench).peakAmps).toBeCloseTo(8, 1);
});

test("time with 4 to 11 V at the card is counted while the output is on", () => {
  const bench = benchOf({ leadOhms: 0.01 });
  switchOn(bench, 12, 1);
  bench.advanceTo(50);
  // 7 V of 1000 µF at 1 A: 7 ms.
  expect(percentOff(truthOf(bench).dwellMs, 7)).toBeLessThan(2);
});
