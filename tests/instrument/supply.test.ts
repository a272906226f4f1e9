import { afterEach, describe, expect, it } from "vitest";
import type { BenchError } from "../../shared/bench-error.ts";
import type { Supply, SupplyReading } from "../../src/instrument/supply.ts";
import type { Simulation } from "../../src/simulator/start-simulation.ts";
import { realClock } from "../../src/system/real-clock.ts";
import { until } from "../link/until.ts";
import { driverLike, errorOf, type Rig, SETTING_12V, supplyRig, wentOff } from "./bench-rig.ts";

let rig: Rig | undefined;
afterEach(async () => {
  await rig?.close();
  rig = undefined;
});
const start = async (options: Parameters<typeof supplyRig>[0] = {}): Promise<Rig> => {
  rig = await supplyRig(options);
  return rig;
};
/** Reads until `fits`; a loaded machine may be late with an answer, which is no matter here. */
async function readingWhere(
  supply: Supply,
  channel: number,
  fits: (reading: SupplyReading) => boolean,
): Promise<SupplyReading> {
  for (;;) {
    const reading = await supply.read(channel).catch((cause: BenchError) => {
      if (cause.code !== "no-reply") throw cause;
    });
    if (reading !== undefined && fits(reading)) return reading;
  }
}

describe("the over-current protection", () => {
  const told = (sim: Simulation): string[] =>
    sim.history().flatMap((each) => (each.kind === "command" && !each.text.includes("?") ? [each.text] : []));

  it("has its delay set and read back with nothing on, and is armed without another word to a live output", async () => {
    const { supply, channel, sim, guard } = await start({ dialect: "numbered" });
    const got = await supply.configure(channel, { ...SETTING_12V, overCurrentDelayMs: 350 });
    expect(got.overCurrent).toMatchObject({ on: false, delayMs: 350 });
    await supply.switchOn(channel, guard());
    expect(await supply.outputState(channel)).toBe("on");
    const before = told(sim).length;
    expect((await supply.setOverCurrent(channel, { on: true, levelAmps: 3 })).overCurrent).toMatchObject({ on: true });
    expect(told(sim).slice(before)).toEqual([expect.stringContaining("CURR:PROT:STAT ON")]);
    expect(await supply.outputState(channel)).toBe("on");
  });

  it("is refused where the limit it acts at reads back otherwise", async () => {
    const { supply, channel } = await start({ dialect: "numbered" });
    await supply.configure(channel, SETTING_12V);
    const error = await errorOf(supply.setOverCurrent(channel, { on: true, levelAmps: 2 }));
    expect(error).toMatchObject({
      code: "setting-refused",
      message: expect.stringContaining("limit: set to 2 A, reads 3 A"),
    });
  });
});

describe.each(["plain", "selection", "channel-list", "numbered"] as const)("a supply of the %s dialect", (dialect) => {
  it.each(["tcp", "pty"] as const)("is set, read, switched on and off over %s", async (transport) => {
    const { supply, channel, sim, guard } = await start({ dialect, transport });
    expect(supply.driver.name).toBe(
      {
        plain: "plain-supply",
        selection: "selected-supply",
        "channel-list": "channel-list-supply",
        numbered: "numbered-supply",
      }[dialect],
    );
    expect(await supply.ratings(channel)).toEqual({ maxVolts: 32, maxAmps: 10 });
    expect(await supply.configure(channel, SETTING_12V)).toMatchObject({
      setVolts: 12,
      limitAmps: 3,
      overVolts: 13.2,
      output: "off",
    });
    expect(await supply.outputState(channel)).toBe("off");
    await supply.switchOn(channel, guard());
    expect(await supply.outputState(channel)).toBe("on");
    const reading = await readingWhere(supply, channel, ({ volts }) => volts.kind === "value" && volts.volts > 11.9);
    expect(reading).toMatchObject({ mode: "cv", together: true });
    expect(reading.atMs).toBeGreaterThan(reading.queriedAtMs);
    // The right channel, and no other: the board itself says so.
    expect(sim.voltsAt("aux")).toBeGreaterThan(11.5);
    expect(sim.voltsAt("slot12")).toBeLessThan(0.5);
    supply.cut([channel]);
    expect(await supply.proveOff([channel], { withinMs: 1000 })).toMatchObject({ output: "off" });
  });
});

describe("configure", () => {
  it("sends protection first going up, volts first going down, and reads the error queue after each", async () => {
    const { supply, channel, commands } = await start();
    commands();
    await supply.configure(channel, SETTING_12V);
    const up = commands().filter((each) => !each.includes("?"));
    expect(up.map((each) => each.replace(/^SOUR\d:/, "").split(" ")[0])).toEqual([
      "VOLT:PROT",
      "VOLT:PROT:STAT",
      "CURR:PROT:STAT",
      "CURR",
      "VOLT",
    ]);
    await supply.configure(channel, { volts: 3, limitAmps: 0.3, overVolts: 3.45 });
    const down = commands();
    expect(
      down.filter((each) => !each.includes("?")).map((each) => each.replace(/^SOUR\d:/, "").split(" ")[0]),
    ).toEqual(["VOLT", "CURR", "VOLT:PROT", "VOLT:PROT:STAT"]);
    for (const [index, line] of down.entries()) if (!line.includes("?")) expect(down[index + 1]).toBe("SYST:ERR?");
    expect(commands().some((each) => each.startsWith("OUTP"))).toBe(false);
  });

  it("finds a setting that was silently not taken", async () => {
    const { supply, channel, sim, name } = await start();
    sim.misbehave.ignore(name, /:VOLT$/i);
    const error = await errorOf(supply.configure(channel, SETTING_12V));
    expect(error.code).toBe("setting-refused");
    expect(error.message).toContain("volts: set to 12 V, reads 0 V");
  });

  it("refuses a limit above the supply's, naming what was asked and the error that came", async () => {
    const { supply, channel } = await start();
    const error = await errorOf(supply.configure(channel, { volts: 12, limitAmps: 11 }));
    expect(error.code).toBe("setting-refused");
    expect(error.message).toMatch(/CURR 11" was the error -222 "Data out of range".*its output was not touched/);
  });

  it("never repeats a setting whose error queue could not be read; the read-back judges", async () => {
    const { supply, channel, sim, name, commands } = await start();
    await supply.settings(channel);
    commands();
    // The reply after the first is the error queue's.
    sim.misbehave.replies(name, { at: [1] }, { fault: "drop" });
    await supply.configure(channel, SETTING_12V);
    expect(commands().filter((each) => /VOLT:PROT 13\.2/.test(each))).toHaveLength(1);
  });

  it("is not asked to set a protection that is not there", async () => {
    const { supply, channel } = await start({ traits: { overVoltage: false, overCurrent: false, watchdog: false } });
    expect(supply.traits).toMatchObject({ hasOverVoltage: false, hasOverCurrent: false, hasWatchdog: false });
    expect((await errorOf(supply.configure(channel, SETTING_12V))).code).toBe("setting-refused");
    expect(await supply.configure(channel, { volts: 1, limitAmps: 0.2 })).toMatchObject({
      overVolts: null,
      overCurrent: null,
    });
    expect(await supply.armWatchdog(5)).toBe(false);
  });
});

describe("reading", () => {
  it.each([
    ["9.90000000E+37", { kind: "overload" }],
    ["9.91E37", { kind: "no-reading" }],
    ["-9.9E37", { kind: "overload" }],
  ])("%s is no number of volts", async (text, volts) => {
    const { supply, channel, sim, name } = await start();
    sim.misbehave.replies(name, { next: 1 }, { fault: "replace", text: `${text};0.000;256;0;0.0;0.0` });
    expect((await supply.read(channel)).volts).toEqual(volts);
  });

  it.each([
    "12.0;1.0",
    "12.0;1.0;256",
    "12.0;1.0;256;1;12.0;1.0;0",
    "12.0V;1.0;256;1;12.0;1.0",
    "12.0;;256;1;12.0;1.0",
    "12,0;1.0;256;1;12.0;1.0",
    "12.0;100mA;256;1;12.0;1.0",
    "ON;1.0;256;1;12.0;1.0",
    "12.0;1.0;256;perhaps;12.0;1.0",
    "12.0;1.0;256;1;9.9E37;1.0",
  ])("%s is refused, and the link fenced", async (text) => {
    const { supply, channel, sim, name, commands } = await start();
    sim.misbehave.replies(name, { next: 1 }, { fault: "replace", text });
    expect((await errorOf(supply.read(channel))).code).toBe("bad-reply");
    commands();
    expect((await supply.read(channel)).volts.kind).toBe("value");
    expect(commands()[0]).toBe("*IDN?");
  });

  it.each([
    ["where questions share a line, with every reading", {}, 1],
    ["where each is a round trip, one every other reading", { joins: false }, 8],
  ] as const)("says what stands at the front panel: %s", async (_how, traits, within) => {
    const { supply, channel, sim } = await start({ traits });
    await supply.configure(channel, SETTING_12V);
    sim.misbehave.frontPanel("aux", { volts: 11, output: "on" });
    const seen = {};
    for (let each = 0; each < within; each++) Object.assign(seen, (await supply.read(channel)).panel);
    expect(seen).toMatchObject({ output: "on", setVolts: 11, limitAmps: SETTING_12V.limitAmps });
    sim.misbehave.frontPanel("aux", { output: "off" });
  });

  it("takes volts and amps one after the other where queries do not join", async () => {
    const { supply, channel } = await start({ traits: { joins: false } });
    const reading = await supply.read(channel);
    expect(reading).toMatchObject({ together: false, volts: { kind: "value" }, amps: { kind: "value" } });
    expect(await supply.configure(channel, SETTING_12V)).toMatchObject({ setVolts: 12 });
  });

  it("says constant current where the supply limits, and unknown where it has no status", async () => {
    const short = await start({ scenario: "dead-short" });
    await short.supply.configure(short.channel, { volts: 0.9, limitAmps: 0.3, overVolts: 1.5 });
    await short.supply.switchOn(short.channel, short.guard());
    // The simulated supply filters its amps and takes them before the status of the same answer: they reach the limit after the status does.
    await readingWhere(short.supply, short.channel, ({ amps }) => amps.kind === "value" && amps.amps > 0.25);
    const limited = await short.supply.read(short.channel);
    expect(limited.mode).toBe("cc");
    expect(limited.amps.kind === "value" && limited.amps.amps).toBeCloseTo(0.3, 1);
    await short.close();
    const blind = await start({ traits: { conditionStatus: false } });
    expect((await blind.supply.read(blind.channel)).mode).toBe("unknown");
  });

  it("knows the step of scientific digits for none", async () => {
    expect((await start({ traits: { numbers: "scientific" } })).supply.traits).toMatchObject({
      stepVolts: null,
      stepAmps: null,
    });
  });
});

describe("switchOn", () => {
  it("is refused past its deadline", async () => {
    const { supply, channel, commands } = await start();
    const guard = { connection: supply.connection, deadlineMs: realClock.nowMs() - 1 };
    expect((await errorOf(supply.switchOn(channel, guard))).code).toBe("write-late");
    expect(commands()).not.toContain("OUTP3 ON");
  });

  it("is refused on another connection than the one it was meant for", async () => {
    const { supply, channel, commands, guard } = await start();
    expect((await errorOf(supply.switchOn(channel, { ...guard(), connection: supply.connection - 1 }))).code).toBe(
      "link-closed",
    );
    expect(commands()).not.toContain("OUTP3 ON");
  });

  it("is refused on a suspect link, and not sent after the fence either", async () => {
    const { supply, channel, sim, name, commands, guard } = await start();
    const meant = guard();
    sim.misbehave.replies(name, { next: 1 }, { fault: "drop" });
    expect((await errorOf(supply.read(channel))).code).toBe("no-reply");
    expect((await errorOf(supply.switchOn(channel, meant))).code).toBe("suspect-link");
    await supply.read(channel);
    expect(commands()).not.toContain("OUTP3 ON");
  });

  it("verifies the selection before it energises", async () => {
    const { supply, channel, sim, name, commands, guard } = await start({ dialect: "selection" });
    sim.misbehave.ignore(name, /^INST:NSEL$/i);
    expect((await errorOf(supply.switchOn(channel, guard()))).message).toContain("Cannot select channel 3");
    expect(commands()).not.toContain("OUTP ON");
  });

  it("is not sent where another cut comes while the first is still to be over", async () => {
    const { supply, channel, sim, guard, commands } = await start();
    supply.cut([channel]);
    const switching = supply.switchOn(channel, guard()).catch((cause: unknown) => cause);
    supply.cut([channel]);
    commands();
    expect(await switching).toMatchObject({ code: "suspect-link", message: expect.stringContaining("a cut came") });
    expect(await supply.proveOff([channel], { withinMs: 2000 })).toMatchObject({ output: "off" });
    expect(commands().filter((each) => each.endsWith("ON"))).toEqual([]);
    expect(sim.truth().feeds["aux"]?.output).toBe("off");
  });

  it("waits for a cut to be over, so that its second off does not undo it", async () => {
    const { supply, channel, guard } = await start();
    supply.cut([channel]);
    await supply.proveOff([channel], { withinMs: 500 });
    await supply.switchOn(channel, guard());
    for (let each = 0; each < 60; each++) expect(await supply.outputState(channel)).toBe("on");
  });
});

describe("connecting", () => {
  it("drains a queue full of old errors, so that none is blamed on a new setting", async () => {
    const { supply, channel } = await start({
      traits: { errorQueue: 20 },
      before: (sim, name) =>
        sim.misbehave.errors(
          name,
          Array.from({ length: 25 }, (_, index) => ({ code: -100 - index, words: "old" })),
        ),
    });
    await supply.configure(channel, SETTING_12V);
  });

  it("refuses another serial number than the one pinned, and says both", async () => {
    const error = await errorOf(start({ entry: { serialNumber: "SN999" } }));
    expect(error.code).toBe("wrong-identity");
    expect(error.message).toMatch(/"SN1".*SN999/);
  });

  it("recognises an echo, takes ON for 1, and any line end", async () => {
    for (const terminator of ["\r\n", "\r", "\n\r"] as const) {
      const { supply, channel, guard } = await start({
        transport: "pty",
        traits: { echo: true, booleans: "word", terminator },
      });
      await supply.configure(channel, SETTING_12V);
      await supply.switchOn(channel, guard());
      expect(await supply.outputState(channel)).toBe("on");
      supply.cut([channel]);
      expect(await supply.proveOff([channel], { withinMs: 2000 })).toMatchObject({ output: "off" });
      await rig?.close();
      rig = undefined;
    }
  }, 30_000);

  it("says the remote command where the supply takes no setting without it, and goes back to local", async () => {
    const { supply, channel, sim } = await start({ transport: "pty", traits: { needsRemote: true } });
    await supply.configure(channel, SETTING_12V);
    await supply.close();
    await until(() => sim.history().some((each) => each.text === "SYST:LOC"));
  });

  it("connects through lost replies", async () => {
    const { supply, channel } = await start({
      before: (sim, name) => void sim.misbehave.replies(name, { every: 7 }, { fault: "drop" }),
      entry: { driver: "numbered-supply" },
    });
    expect(supply.traits).toMatchObject({ hasOverVoltage: true, hasWatchdog: true });
    expect(await supply.settings(channel)).toMatchObject({ output: "off" });
  });

  it("says which protection acted, and after its clearing that none holds", async () => {
    const { supply, channel, sim, guard } = await start();
    await supply.configure(channel, SETTING_12V);
    await supply.switchOn(channel, guard());
    expect(await supply.trippedBy(channel)).toBeNull();
    sim.misbehave.frontPanel("aux", { volts: 20 });
    await until(() => sim.voltsAt("aux") !== undefined && wentOff(sim));
    expect(await supply.trippedBy(channel)).toBe("over-voltage");
    await supply.clearProtection(channel);
    expect(await supply.trippedBy(channel)).toBeNull();
  });

  it("knows no restart where there is no event status register", async () => {
    const { supply, sim } = await start({ before: (each, name) => void each.misbehave.refuse(name, /^\*ESR/) });
    for (const name of Object.keys(sim.benchFile.instruments)) if (name !== "dmm") sim.misbehave.reboot(name);
    expect(await supply.hasRestarted()).toBe(false);
  });

  it("notices that the instrument has restarted in mid-run", async () => {
    const { supply, sim, name } = await start();
    expect(await supply.hasRestarted()).toBe(false);
    sim.misbehave.reboot(name);
    expect(await supply.hasRestarted()).toBe(true);
    expect(await supply.hasRestarted()).toBe(false);
  });

  it("reads units and decimal commas only as the driver says", async () => {
    const like = driverLike("numbered-supply", { name: "comma-supply", identity: { maker: "Bench" } });
    const comma = { ...like, wire: { ...like.wire, decimalComma: true, units: { volts: "V", amps: "A" } } };
    const { supply, channel, sim, name } = await start({ drivers: [comma] });
    sim.misbehave.replies(name, { next: 1 }, { fault: "replace", text: "12,34V;0,5 A;1024;1;12,34V;0,5A" });
    expect(await supply.read(channel)).toMatchObject({ volts: { volts: 12.34 }, amps: { amps: 0.5 }, mode: "cc" });
    sim.misbehave.replies(name, { next: 1 }, { fault: "replace", text: "12,34V;500mA;1024;1;12,34V;0,5A" });
    expect((await errorOf(supply.read(channel))).code).toBe("bad-reply");
  });

  it("takes a single connection for what it is", async () => {
    const { supply, channel, sim, name } = await start({ traits: { singleConnection: true } });
    sim.misbehave.replies(name, { next: 1 }, { fault: "drop" });
    await supply.read(channel).catch(() => {});
    expect((await supply.read(channel)).volts.kind).toBe("value");
  });
});
