import { describe, expect, it } from "vitest";
import type { SupplyDriver } from "../../shared/files/driver-file.ts";
import { modeFrom } from "../../src/instrument/mode.ts";
import { offWrites } from "../../src/instrument/off-writes.ts";
import { RoundTrips } from "../../src/instrument/round-trips.ts";
import { settingOrder } from "../../src/instrument/settings.ts";
import { fill, Speech } from "../../src/instrument/speech.ts";
import { driverLike } from "./bench-rig.ts";

const speechOf = (name: string): Speech => new Speech(driverLike(name, {}) as SupplyDriver, "psu");

describe("round trips", () => {
  it("keeps the last 256 and ranks them", () => {
    const trips = new RoundTrips();
    expect(trips.figures).toEqual({ p50Ms: null, p99Ms: null, count: 0 });
    for (let each = 0; each < 96; each++) trips.add(1000);
    for (let ms = 1; ms <= 256; ms++) trips.add(ms);
    // Nearest rank of 1…256: the 128th and the 254th.
    expect(trips.figures).toEqual({ p50Ms: 128, p99Ms: 254, count: 352 });
    expect(trips.slowMs).toBe(254);
  });
  it("does not let one stall stretch the deadlines while there are few", () => {
    const trips = new RoundTrips();
    for (let each = 0; each < 20; each++) trips.add(each === 5 ? 500 : 2);
    expect(trips.figures.p99Ms).toBe(500);
    expect(trips.slowMs).toBe(2);
    trips.add(400);
    expect(trips.slowMs).toBe(400);
    trips.clear();
    expect(trips.slowMs).toBeNull();
  });
});

describe("regulation mode", () => {
  const bits = { by: "bits", ask: "STAT:OPER:COND?", cv: 256, cc: 1024 } as const;
  // Bit 8 for constant voltage and bit 10 for constant current: from memory.
  it.each([
    ["256", "cv"],
    ["+1024", "cc"],
    ["1280", "unknown"],
    ["0", "unknown"],
    ["257", "cv"],
  ])("%s is %s", (text, mode) => expect(modeFrom(text, bits)).toBe(mode));
  it.each(["", "cv", "1.5", "-1"])("%j is no answer", (text) => expect(modeFrom(text, bits)).toBeUndefined());
  it("words are told apart in any case", () => {
    const words = { by: "words" as const, ask: "MODE?", cv: ["CV"], cc: ["CC", "LIMIT"] };
    expect(["cv", "Limit", "OFF", ""].map((each) => modeFrom(each, words))).toEqual(["cv", "cc", "unknown", undefined]);
  });
});

describe("the order of settings", () => {
  it("is protection first going up, volts first going down", () => {
    expect(settingOrder({ setVolts: 3 }, { volts: 12 })[0]).toBe("overVolts");
    expect(settingOrder({ setVolts: 12 }, { volts: 3 })[0]).toBe("volts");
  });
});

describe("what a cut writes", () => {
  const writes = (name: string, gapMs: number, remote?: string) => {
    const speech = speechOf(name);
    const driver = driverLike(name, {}) as SupplyDriver;
    const outputOff = (channel: number) => fill(driver.operations.outputOff, { channel });
    return offWrites({ speech, outputOff, channels: [1, 2], terminator: "\n", gapMs, remote });
  };
  it("is every channel at once, and again 50 ms later after the remote command", () => {
    expect(writes("selected-supply", 0, "SYST:REM")).toEqual([
      { afterMs: 0, text: "INST:NSEL 1;:OUTP OFF\nINST:NSEL 2;:OUTP OFF" },
      { afterMs: 50, text: "SYST:REM\nINST:NSEL 1;:OUTP OFF\nINST:NSEL 2;:OUTP OFF" },
    ]);
  });
  it("is one line where lines that follow at once would be dropped, three times a gap apart", () => {
    const text = "OUTP1 OFF;:OUTP2 OFF";
    expect(writes("numbered-supply", 100)).toEqual([0, 120, 240].map((afterMs) => ({ afterMs, text })));
  });
});

describe("speech", () => {
  it.each([
    ["plain-supply", 2],
    ["numbered-supply", 33],
  ])("%s has no channel %d", (name, channel) => {
    expect(() => speechOf(name).mustHave(channel)).toThrow("does not exist");
  });
  it("writes values without an exponent", () =>
    expect(fill("VOLT {value},(@{channel})", { channel: 2, value: 1e-4 })).toBe("VOLT 0.0001,(@2)"));
});
