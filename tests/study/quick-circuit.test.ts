import { describe, expect, test } from "vitest";
import { seededRandom } from "../../src/simulator/random.ts";
import { benchOf, switchOn, truthOf } from "../simulator/bench-of.ts";
import { type Draw, QuickCircuit } from "./quick-circuit.ts";

const nothing: Draw = {
  open: false,
  inputFarads: 0.001,
  leadOhms: 0.05,
  esrOhms: 0.01,
  lockOutVolts: [7.5, 7],
  siemens: 0,
  junction: null,
  biasAmps: 0,
  watts: 0,
  startWatts: 0,
  startMs: 0,
  pulse: null,
  leak: null,
  creep: null,
  flicker: null,
};

/** The same feed for both: a set-point, a limit, a draw and what the simulated board calls it. */
const cases: [string, { setVolts: number; limitAmps: number; ms: number; draw: Partial<Draw>; loads: object[] }][] = [
  ["1 mF alone at 1 A", { setVolts: 12, limitAmps: 1, ms: 60, draw: {}, loads: [] }],
  [
    "12 W past 7.5/7 V at 2 A",
    {
      setVolts: 12,
      limitAmps: 2,
      ms: 100,
      draw: { watts: 12, inputFarads: 0.0022 },
      loads: [{ load: "converter", watts: 12, efficiency: 1, lockOutVolts: [7.5, 7], afterMs: 0, softStartMs: 4 }],
    },
  ],
  [
    "0.1 Ω at the touch",
    { setVolts: 0.9, limitAmps: 0.3, ms: 100, draw: { siemens: 10 }, loads: [{ load: "resistor", ohms: 0.1 }] },
  ],
  [
    "a diode path of 0.6 V at the touch",
    {
      setVolts: 0.9,
      limitAmps: 0.3,
      ms: 100,
      draw: { junction: { volts: 0.6, ohms: 0.05 } },
      loads: [{ load: "junction", volts: 0.6, ohms: 0.05 }],
    },
  ],
  [
    "pulses of 0.8 A, 6 ms of every 40",
    {
      setVolts: 12,
      limitAmps: 3,
      ms: 400,
      draw: { pulse: { amps: 0.8, periodMs: 40, onMs: 6 } },
      loads: [{ load: "retry", amps: 0.8, periodMs: 40, onMs: 6, afterMs: 5, fromVolts: 7.5 }],
    },
  ],
];

describe("the quick circuit of the study does what the simulated board does", () => {
  test.each(cases)("%s", (_, { setVolts, limitAmps, ms, draw, loads }) => {
    const quick = new QuickCircuit(
      { ...nothing, ...draw },
      { riseMs: 5, limitDelayMs: 0, surgeAmps: limitAmps },
      seededRandom(1),
    );
    quick.setVolts = setVolts;
    quick.limitAmps = limitAmps;
    let [chargeCoulombs, limitedMs] = [0, 0];
    const STEP_MS = 0.05;
    for (let now = 0; now < ms - 1e-9; now += STEP_MS) {
      quick.step(STEP_MS);
      chargeCoulombs += (quick.amps * STEP_MS) / 1000;
      if (quick.limiting) limitedMs += STEP_MS;
    }
    const bench = benchOf(
      { leadOhms: 0.05, inputFarads: draw.inputFarads ?? 0.001, esrOhms: 0.01, leakOhms: 1e8, loads },
      // Without an output capacitor to fill and without a surge, which the quick circuit knows only as its own traits.
      { riseMs: 5, outputFarads: 1e-6, outputOhms: 0.002, limitDelayMs: 0, surgeAmps: limitAmps },
    );
    switchOn(bench, setVolts, limitAmps);
    bench.advanceTo(ms);
    const truth = truthOf(bench);
    expect(Math.abs(quick.boardVolts - truth.boardVolts)).toBeLessThan(0.01 * setVolts + 0.002);
    expect(Math.abs(chargeCoulombs / truth.chargeCoulombs - 1)).toBeLessThan(0.02);
    expect(Math.abs(limitedMs - truth.limitedMs)).toBeLessThanOrEqual(0.03 * truth.limitedMs + 0.3);
  });
});
