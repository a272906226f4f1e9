import { afterEach, describe, expect, it } from "vitest";
import type { MeterDriver } from "../../shared/files/driver-file.ts";
import { meterAccuracy } from "../../src/instrument/meter-accuracy.ts";
import { driverLike, meterRig } from "./bench-rig.ts";

let rig: Awaited<ReturnType<typeof meterRig>> | undefined;
afterEach(async () => {
  await rig?.close();
  rig = undefined;
});
const start = async (options: Parameters<typeof meterRig>[0] = {}) => {
  rig = await meterRig(options);
  return rig;
};
const likeMeter = (change: Partial<MeterDriver>): MeterDriver =>
  driverLike("scpi-meter", change as never) as MeterDriver;

describe.each(["tcp", "pty"] as const)("a meter on %s", (transport) => {
  it("reads ohms of the point the probe is on, and an overload when it is lifted", async () => {
    const { meter, sim } = await start({ transport });
    expect((await meter.ohms()).kind).toBe("overload");
    sim.probe("12v");
    const should = sim.trueOhms["12v"] ?? Number.NaN;
    // The meter's current charges the board's capacitors first: the reading climbs to what it is.
    let reading = await meter.ohms();
    while (reading.kind !== "value" || Math.abs(reading.ohms / should - 1) > 0.02) reading = await meter.ohms();
    expect(reading.atMs).toBeGreaterThan(reading.queriedAtMs);
  });

  it("reads next to nothing in volts on a board that is off", async () => {
    const { meter, sim } = await start({ transport });
    sim.probe("12v");
    const reading = await meter.volts();
    expect(reading.kind === "value" && Math.abs(reading.volts)).toBeLessThan(0.05);
  });
});

describe("a meter", () => {
  it("chooses its function once, not at each reading, and again after another function", async () => {
    const { meter, sim } = await start();
    for (let each = 0; each < 3; each++) await meter.volts();
    await meter.diode();
    await meter.volts();
    const said = sim
      .history()
      .filter((each) => each.instrument === "dmm" && /^CONF:/.test(each.text) && each.kind === "command");
    expect(said.map((each) => each.text)).toEqual(["CONF:VOLT:DC", "CONF:DIOD", "CONF:VOLT:DC"]);
  });

  it("keeps range and integration time, and reads the error queue after setting them", async () => {
    const { meter, sim } = await start();
    await meter.configure({ function: "volts", rangeUpTo: 10, powerLineCycles: 1 });
    await meter.volts();
    const lines = sim
      .history()
      .filter((each) => each.instrument === "dmm" && each.kind === "command")
      .map((each) => each.text);
    expect(lines.slice(-5)).toEqual(["CONF:VOLT:DC 10", "SYST:ERR?", "VOLT:DC:NPLC 1", "SYST:ERR?", "READ?"]);
  });

  it("reads without a range or an integration time whose words it does not know, and says them once", async () => {
    const { functions } = likeMeter({});
    // Headers that no SCPI meter knows: −113.
    const volts = { ...functions.volts, configureRange: "CONFI:VOLT {value}", integration: "VOLT:DC:NPLCS {value}" };
    const { meter, sim } = await start({ drivers: [likeMeter({ functions: { ...functions, volts } })] });
    await meter.configure({ function: "volts", rangeUpTo: 10, powerLineCycles: 1 });
    await meter.configure({ function: "volts", rangeUpTo: 10, powerLineCycles: 1 });
    expect((await meter.volts()).kind).toBe("value");
    const said = sim.history().filter((each) => each.instrument === "dmm" && each.kind === "command");
    expect(said.map((each) => each.text).filter((text) => /VOLT/.test(text))).toEqual([
      "CONFI:VOLT 10",
      "CONF:VOLT:DC",
      "VOLT:DC:NPLCS 1",
      "CONF:VOLT:DC",
    ]);
  });

  it("says which setting was refused", async () => {
    const { meter, sim } = await start();
    sim.misbehave.refuse("dmm", /^CONF:DIOD/i, -113, "Undefined header");
    await expect(meter.diode()).rejects.toMatchObject({
      code: "setting-refused",
      message: expect.stringContaining("CONF:DIOD"),
    });
  });

  it("asks again after a lost reading, and never takes a late one for the next", async () => {
    const { meter, sim } = await start({ drivers: [likeMeter({ wire: { ...likeMeter({}).wire, replyMs: 200 } })] });
    await meter.volts();
    sim.misbehave.replies("dmm", { next: 1 }, { fault: "drop" });
    expect((await meter.volts()).kind).toBe("value");
  });

  it("sets its function again on a new connection", async () => {
    const { meter, sim } = await start();
    await meter.volts();
    sim.misbehave.dropLink("dmm", "reset");
    expect((await meter.volts()).kind).toBe("value");
    const said = sim.history().filter((each) => each.kind === "command" && each.text === "CONF:VOLT:DC");
    expect(said).toHaveLength(2);
  });

  it("is not chosen for a supply", async () => {
    await expect(meterRig({ entry: { driver: "plain-supply" } })).rejects.toMatchObject({ code: "unknown-driver" });
  });
});

describe("the accuracy of a reading", () => {
  const ranges = [
    { upTo: 1, share: 0.00003, offset: 7e-6 },
    { upTo: 10, share: 0.00002, offset: 0.00005 },
    { upTo: 100, share: 0.00004, offset: 0.0006 },
  ];
  const driver = likeMeter({ functions: { ...likeMeter({}).functions, volts: { configure: "CONF:VOLT:DC", ranges } } });

  it("5 V on a 10 V range at ±(0.0020 % + 0.0005 %) is ±150 µV (a meter's manual)", () => {
    expect(meterAccuracy({ function: "volts", value: 5 }, { entry: undefined, driver })).toBeCloseTo(150e-6, 12);
  });
  it("is the same either side of zero", () => {
    expect(meterAccuracy({ function: "volts", value: -5 }, { entry: undefined, driver })).toBeCloseTo(150e-6, 12);
  });
  it("follows the range that was set, not the smallest that would do", () => {
    expect(meterAccuracy({ function: "volts", value: 5, rangeUpTo: 100 }, { entry: undefined, driver })).toBeCloseTo(
      5 * 0.00004 + 0.0006,
      12,
    );
  });
  it("2.000 V at ±(0.08 % + 2 digits of 1 mV) is ±3.6 mV (a meter's manual), and the bench file comes first", () => {
    const entry = { voltsShare: 0.0008, voltsOffset: 0.002 };
    expect(meterAccuracy({ function: "volts", value: 2 }, { entry, driver })).toBeCloseTo(0.0036, 12);
  });
  it("is null where nobody says", () => {
    expect(meterAccuracy({ function: "ohms", value: 100 }, { entry: { voltsShare: 0.001 }, driver })).toBeNull();
  });
});
