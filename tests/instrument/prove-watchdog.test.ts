import { expect, test } from "vitest";
import { connectInstrument } from "../../src/instrument/connect-instrument.ts";
import { proveWatchdog, type WatchdogProof } from "../../src/instrument/prove-watchdog.ts";
import { openLink } from "../../src/link/open-link.ts";
import { type Simulation, startSimulation } from "../../src/simulator/start-simulation.ts";
import { WireQuiet } from "../bench/wire-quiet.ts";
import { HandClock } from "../hand-clock.ts";
import { drivers } from "./bench-rig.ts";

async function trial(options: { watchdog: boolean; before?: (simulation: Simulation) => void }): Promise<{
  proof: WatchdogProof;
  switchings: string[];
  volts: number;
  tookMs: number;
}> {
  const clock = new HandClock();
  const simulation = await startSimulation({
    scenario: "single-feed",
    dialect: "numbered",
    transport: "tcp",
    clock,
    traits: { latencyMs: 5, watchdog: options.watchdog },
  });
  const quiet = new WireQuiet(() => simulation.bytes);
  const until = async <T>(promise: Promise<T>): Promise<T> => {
    let settled = false;
    const over = promise.finally(() => {
      settled = true;
    });
    over.catch(() => {});
    while (!settled) {
      await quiet.settled();
      if (!settled) clock.step();
    }
    return over;
  };
  const entry = simulation.benchFile.instruments["psu"];
  if (entry === undefined) throw new Error("no supply");
  const supply = await until(
    connectInstrument({ name: "psu", entry, drivers, clock, openLink: quiet.counting(openLink) }),
  );
  if (supply.kind !== "supply") throw new Error("no supply");
  options.before?.(simulation);
  const fromMs = clock.nowMs();
  const proof = await until(proveWatchdog(supply, 1, clock));
  const tookMs = clock.nowMs() - fromMs;
  const truth = simulation.truth().feeds["in12"];
  await until(supply.close());
  await until(simulation.close());
  return {
    proof,
    switchings: (truth?.switchings ?? []).map((each) => `${each.output} (${each.why})`),
    volts: truth?.maxBoardVolts ?? Number.NaN,
    tookMs,
  };
}

test("a watchdog that acts is proved: on at 0 V, off by itself in the silence, and no longer armed afterwards", async () => {
  const { proof, switchings, volts, tookMs } = await trial({ watchdog: true });
  expect(proof).toMatchObject({ result: "proved", output: "off" });
  expect(switchings.slice(0, 2)).toEqual(["on (command)", "off (watchdog)"]);
  expect(switchings.at(-1)).toMatch(/^off/);
  expect(volts).toBeLessThan(0.05);
  expect(tookMs).toBeGreaterThan(3000);
});

test("one that was set and does not act in time is told, and the output is cut", async () => {
  const { proof, switchings } = await trial({
    watchdog: true,
    before: (simulation) => void simulation.misbehave.ignore("psu", /WDOG:DEL/i),
  });
  expect(proof).toMatchObject({ result: "did-not-act", output: "off" });
  expect(switchings).toEqual(["on (command)", "off (command)"]);
});

test("a supply without one says so, and nothing is switched on", async () => {
  const { proof, switchings } = await trial({ watchdog: false });
  expect(proof).toMatchObject({ result: "none" });
  expect(switchings).toEqual([]);
});

test("an output that is on is left as it is", async () => {
  const { proof, switchings } = await trial({
    watchdog: true,
    before: (simulation) => simulation.misbehave.frontPanel("in12", { output: "on" }),
  });
  expect(proof).toMatchObject({ result: "failed", output: "unknown" });
  expect(switchings).toHaveLength(1);
});
