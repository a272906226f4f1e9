import { expect, test } from "vitest";
import { simulated } from "./simulated.ts";

async function bench(scenario: string) {
  const { simulation, clock, client } = await simulated({ scenario, meterTraits: { readMs: 0 } });
  const dmm = await client("dmm");
  const psu = await client("psu");
  const powerUp = async (): Promise<void> => {
    const feeds = Object.entries(simulation.benchFile.feeds);
    for (const [index, [feed]] of feeds.entries()) {
      const nominal = simulation.scenario.feeds[feed]?.nominalVolts ?? 0;
      psu.send(`SOUR${index + 1}:VOLT ${nominal};:SOUR${index + 1}:CURR 5;:OUTP${index + 1} ON`);
      await psu.ask("*OPC?");
      clock.advance(100);
    }
    clock.advance(500);
  };
  const ask = async (what: string, point: string | null, settleMs = 5000): Promise<number> => {
    simulation.probe(point);
    clock.advance(settleMs);
    return Number(await dmm.ask(what));
  };
  return { simulation, clock, dmm, psu, powerUp, ask };
}

test("every rail of a good board stands inside its tolerance, from the board's state and not from a list", async () => {
  const { simulation, powerUp, ask } = await bench("normal");
  const rails = Object.entries(simulation.boardFile?.rails ?? {});
  expect(rails.length).toBeGreaterThanOrEqual(12);
  for (const [rail] of rails) expect(Math.abs(await ask("MEAS:VOLT?", rail))).toBeLessThan(0.01);
  await powerUp();
  for (const [rail, { volts, tolerance: [low, high] = [-0.05, 0.05] }] of rails) {
    const read = await ask("MEAS:VOLT?", rail, 200);
    expect(read, rail).toBeGreaterThan(volts * (1 + low));
    expect(read, rail).toBeLessThan(volts * (1 + high));
  }
});

test("a dead rail takes everything that needs it along, and nothing else", async () => {
  const { powerUp, ask } = await bench("partly-up");
  await powerUp();
  expect(await ask("MEAS:VOLT?", "soc")).toBeCloseTo(0.9, 1);
  for (const rail of ["core", "mem", "mem-vpp", "power-good", "reset"])
    expect(Math.abs(await ask("MEAS:VOLT?", rail))).toBeLessThan(0.01);
  expect(await ask("MEAS:VOLT?", "core-enable")).toBeCloseTo(3.3, 1);
});

test("a lifted probe reads about nothing in volts and an overload in ohms and diode mode", async () => {
  const { ask } = await bench("normal");
  expect(Math.abs(await ask("MEAS:VOLT?", null))).toBeLessThan(0.005);
  // SCPI-1999 volume 1, 7.2.1.4: infinity is 9.9E37.
  expect(await ask("MEAS:RES?", null)).toBe(9.9e37);
  expect(await ask("MEAS:DIOD?", null)).toBe(9.9e37);
});

test("ohms are answered with the output off, with the leads in two-wire and without them in four-wire", async () => {
  const { psu, clock, powerUp, ask, simulation } = await bench("normal");
  expect(await ask("MEAS:RES?", "core")).toBeCloseTo(0.51, 2);
  expect(await ask("MEAS:FRES?", "core")).toBeCloseTo(0.41, 2);
  expect(await ask("MEAS:RES?", "aux", 20_000)).toBeCloseTo(12_400, -3);
  expect(await ask("MEAS:RES?", "aux:core", 20_000)).toBeCloseTo(3100, -2);
  await powerUp();
  expect(await ask("MEAS:RES?", "core")).toBe(9.9e37);
  for (const each of [3, 2, 1]) psu.send(`OUTP${each} OFF`);
  await psu.ask("*OPC?");
  clock.advance(20_000);
  expect(Math.abs(simulation.voltsAt("aux") ?? 1)).toBeLessThan(0.02);
  expect(await ask("MEAS:RES?", "core")).toBeCloseTo(0.51, 2);
});

test("a shorted rail reads its short, cold", async () => {
  const { ask } = await bench("retrying-visible");
  expect(await ask("MEAS:FRES?", "core")).toBeCloseTo(0.02, 3);
  expect(await ask("MEAS:DIOD?", "core")).toBeLessThan(0.01);
});

test("diode mode reads the middle of the board's span on a good rail", async () => {
  const { ask } = await bench("normal");
  // The board file's 0.35 to 0.6 V.
  expect(await ask("MEAS:DIOD?", "5v")).toBeCloseTo(0.475, 2);
});

test("a reading settles after the probe touched", async () => {
  const { powerUp, ask } = await bench("normal");
  await powerUp();
  const early = await ask("MEAS:VOLT?", "5v", 10);
  expect(early).toBeGreaterThan(0.5);
  expect(early).toBeLessThan(4);
  expect(await ask("MEAS:VOLT?", "5v", 300)).toBeCloseTo(5.02, 2);
});

test("CONF, INIT, FETC? and READ? with a sample count", async () => {
  const { dmm } = await bench("normal");
  dmm.send("CONF:VOLT:DC;:SAMP:COUN 3");
  expect((await dmm.ask("READ?")).split(",").length).toBe(3);
  expect(await dmm.ask("CONF?")).toMatch(/^"VOLT /);
  dmm.send("FETC?");
  // SCPI-1999: −230 is data corrupt or stale.
  expect(await dmm.ask("SYST:ERR?")).toMatch(/^-230,/);
  dmm.send("INIT");
  expect((await dmm.ask("FETC?")).split(",").length).toBe(3);
});

test("a scanner reads the points its channels are wired to", async () => {
  const { simulation, clock, client } = await simulated({
    scenario: "normal",
    meterTraits: { readMs: 0, scanner: { 101: "slot3v3", 102: "3v3" } },
  });
  const dmm = await client("dmm");
  simulation.misbehave.frontPanel("slot3v3", { volts: 3.3, limitAmps: 1, output: "on" });
  clock.advance(200);
  const read = (await dmm.ask("MEAS:VOLT? (@101,102)")).split(",").map(Number);
  expect(read[0]).toBeCloseTo(3.3, 1);
  expect(read[1]).toBeCloseTo(3.3, 1);
});
