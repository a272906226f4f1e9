import { expect, test } from "vitest";
import { benchOf, switchOn, truthOf } from "../simulator/bench-of.ts";
import { type FeedCase, runSpice } from "./ngspice-transient.ts";

const stage = { outputFarads: 0.0002, outputOhms: 0.002 };

/** Boards of the span common practice gives: 0.5–4 mF behind 30–150 mΩ, with what hangs on them. */
const cases: [string, FeedCase][] = [
  [
    "1 mF alone at 1 A",
    { ...stage, setVolts: 12, limitAmps: 1, riseMs: 5, leadOhms: 0.05, inputFarads: 0.001, esrOhms: 0.01, ms: 40 },
  ],
  [
    "2.2 mF and 12 W past a lock-out of 7.5/7.0 V at 3 A",
    {
      ...stage,
      setVolts: 12,
      limitAmps: 3,
      riseMs: 5,
      leadOhms: 0.04,
      inputFarads: 0.0022,
      esrOhms: 0.008,
      converter: { watts: 12, rising: 7.5, falling: 7 },
      ms: 60,
    },
  ],
  [
    "4 mF and 6 W past 4.0/3.7 V at 2 A",
    {
      ...stage,
      setVolts: 12,
      limitAmps: 2,
      riseMs: 5,
      leadOhms: 0.15,
      inputFarads: 0.004,
      esrOhms: 0.02,
      converter: { watts: 6, rising: 4, falling: 3.7 },
      ms: 80,
    },
  ],
  [
    "0.5 mF and 24 W past 9/8 V on a supply that rises in 100 ms",
    {
      ...stage,
      setVolts: 12,
      limitAmps: 5,
      riseMs: 100,
      leadOhms: 0.05,
      inputFarads: 0.0005,
      esrOhms: 0.02,
      converter: { watts: 24, rising: 9, falling: 8 },
      ms: 150,
    },
  ],
  [
    "1 mF and 30 W past 9/8 V at 2 A: a start that loops",
    {
      ...stage,
      setVolts: 12,
      limitAmps: 2,
      riseMs: 5,
      leadOhms: 0.05,
      inputFarads: 0.001,
      esrOhms: 0.01,
      converter: { watts: 30, rising: 9, falling: 8 },
      ms: 60,
    },
  ],
  [
    "0.05 Ω across 1 mF at the touch",
    {
      ...stage,
      setVolts: 0.9,
      limitAmps: 0.3,
      riseMs: 5,
      leadOhms: 0.05,
      inputFarads: 0.001,
      esrOhms: 0.01,
      shuntOhms: 0.05,
      ms: 100,
    },
  ],
  [
    "4.7 Ω across 2.2 mF at 2 A",
    {
      ...stage,
      setVolts: 12,
      limitAmps: 2,
      riseMs: 5,
      leadOhms: 0.04,
      inputFarads: 0.0022,
      esrOhms: 0.008,
      shuntOhms: 4.7,
      ms: 100,
    },
  ],
];

test.each(cases)("ngspice and the simulator agree on %s", async (_name, feed) => {
  const spice = await runSpice(feed);
  const bench = benchOf(
    {
      leadOhms: feed.leadOhms,
      inputFarads: feed.inputFarads,
      esrOhms: feed.esrOhms,
      loads: [
        ...(feed.shuntOhms === undefined ? [] : [{ load: "resistor", ohms: feed.shuntOhms }]),
        ...(feed.converter === undefined
          ? []
          : [
              {
                load: "converter",
                watts: feed.converter.watts,
                efficiency: 1,
                lockOutVolts: [feed.converter.rising, feed.converter.falling],
                afterMs: 0,
                softStartMs: 0,
              },
            ]),
      ],
    },
    { riseMs: feed.riseMs, outputFarads: feed.outputFarads, outputOhms: feed.outputOhms },
  );
  switchOn(bench, feed.setVolts, feed.limitAmps);
  bench.advanceTo(feed.ms);
  const truth = truthOf(bench);
  expect(spice.chargeCoulombs).toBeGreaterThan(0.001);
  // Charge to 2 %, time in limit to 5 % and a step of the trace.
  expect(Math.abs(truth.chargeCoulombs / spice.chargeCoulombs - 1)).toBeLessThan(0.02);
  expect(Math.abs(truth.limitedMs - spice.limitedMs)).toBeLessThanOrEqual(0.05 * spice.limitedMs + 0.05);
});
