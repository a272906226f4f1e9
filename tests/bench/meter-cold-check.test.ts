import { afterEach, expect, test } from "vitest";
import type { MeterReadSetting } from "../../shared/meter-reading.ts";
import { MeterColdCheck } from "../../src/bench/meter-cold-check.ts";
import { connectInstrument } from "../../src/instrument/connect-instrument.ts";
import { loadDrivers } from "../../src/instrument/load-drivers.ts";
import { openLink } from "../../src/link/open-link.ts";
import { realClock } from "../../src/system/real-clock.ts";
import { type ScriptedPeer, socketPeer } from "../instrument/scripted-peer.ts";
import { OHMS } from "./meter-bench.ts";

/** What a meter on this point answers, function by function. */
interface Point {
  volts: string;
  ohms?: string;
  diode?: string;
}
const OPEN = "+9.90000000E+37";

let peer: ScriptedPeer | undefined;
let closeMeter: () => Promise<void> = async () => {};
afterEach(async () => {
  await closeMeter();
  await peer?.close();
});

async function checkOn(point: Point, setting: MeterReadSetting = OHMS) {
  let asks = "VOLT";
  peer = await socketPeer((line) => {
    asks = /^CONF:(VOLT|RES|DIOD)/.exec(line)?.[1] ?? asks;
    if (line === "SYST:ERR?") return '0,"No error"';
    if (line !== "READ?") return undefined;
    return (asks === "VOLT" ? point.volts : asks === "RES" ? point.ohms : point.diode) ?? OPEN;
  });
  const meter = await connectInstrument({
    name: "dmm",
    entry: { kind: "meter", address: peer.address, driver: "scpi-meter" },
    drivers: (await loadDrivers(null)).drivers,
    clock: realClock,
    openLink,
  });
  if (meter.kind !== "meter") throw new Error("no meter answered");
  closeMeter = () => meter.close();
  return new MeterColdCheck({ meter, setting, mayAsk: () => {} });
}

/**
 * Limits: 20 mV, and 5 mV on a rail under 10 Ω (common practice, no source). At 1 mA, 6 mV on a point add or take 6 Ω, so
 * 14 Ω may be 8 Ω.
 */
test.each([
  ["4 mV on 0.4 Ω is discharged", "0.004", "0.4", "value"],
  ["6 mV on 0.4 Ω is not", "0.006", "0.4", "charged"],
  ["6 mV on what reads 14 Ω is not: it may be 8 Ω", "0.006", "14", "charged"],
  ["6 mV on 25 Ω is discharged", "0.006", "25", "value"],
  ["19 mV on 5 kΩ is discharged", "0.019", "5000", "value"],
  ["21 mV on 5 kΩ is not", "0.021", "5000", "charged"],
  ["21 mV the other way round is not either", "-0.021", "5000", "charged"],
  ["21 mV on a point that reads open is no open", "0.021", OPEN, "charged"],
  ["1 mV on a point that reads open is one", "0.001", OPEN, "overload"],
  ["more volts than the range holds is not discharged", OPEN, "5000", "charged"],
])("%s", async (_, volts, ohms, kind) => {
  const check = await checkOn({ volts, ohms });
  const reading = await check.next();
  expect(reading.kind).toBe(kind);
  expect(reading.value).toBe(kind === "value" ? Number(ohms) : null);
  expect(reading.nodeVolts).toBe(volts === OPEN ? null : Number(volts));
  // A charged point is never asked for ohms where its volts say enough.
  if (kind === "charged" && (volts === OPEN || Math.abs(Number(volts)) > 0.02))
    expect(peer?.heard.filter(({ line }) => line.startsWith("CONF:RES"))).toEqual([]);
});

test("diode mode looks at the volts first too", async () => {
  const diode: MeterReadSetting = { ...OHMS, function: "diode" };
  expect(await (await checkOn({ volts: "0.001", diode: "0.45" }, diode)).next()).toMatchObject({ value: 0.45 });
  await closeMeter();
  await peer?.close();
  expect(await (await checkOn({ volts: "0.3", diode: "0.45" }, diode)).next()).toMatchObject({ kind: "charged" });
});

test("the lead null comes off two-wire ohms and not off four-wire or diode mode", async () => {
  const nulled: MeterReadSetting = { ...OHMS, leadNullOhms: 0.3 };
  expect(await (await checkOn({ volts: "0", ohms: "0.7" }, nulled)).next()).toMatchObject({
    value: expect.closeTo(0.4, 9),
    leadNullOhms: 0.3,
  });
  await closeMeter();
  await peer?.close();
  const diode: MeterReadSetting = { ...nulled, function: "diode" };
  expect(await (await checkOn({ volts: "0", diode: "0.7" }, diode)).next()).toMatchObject({
    value: 0.7,
    leadNullOhms: null,
  });
});
