import { mkdtemp, readFile, rm, writeFile } from "node:fs/promises";
import os from "node:os";
import path from "node:path";
import { afterEach, describe, expect, it } from "vitest";
import { z } from "zod";
import { DriverFile } from "../../shared/files/driver-file.ts";
import { loadDrivers } from "../../src/instrument/load-drivers.ts";
import { driverNamed } from "../../src/instrument/pick-driver.ts";
import { driverLike, drivers, type Rig, supplyRig } from "./bench-rig.ts";

let rig: Rig | undefined;
const folders: string[] = [];
afterEach(async () => {
  await rig?.close();
  rig = undefined;
  for (const folder of folders.splice(0)) await rm(folder, { recursive: true });
});
const folderWith = async (files: Record<string, unknown>): Promise<string> => {
  const folder = await mkdtemp(path.join(os.tmpdir(), "firstamp-drivers-"));
  folders.push(folder);
  for (const [name, content] of Object.entries(files)) {
    await writeFile(path.join(folder, name), typeof content === "string" ? content : JSON.stringify(content));
  }
  return folder;
};

describe("driver: auto", () => {
  it("says why each candidate was taken or left, numbered headers first", async () => {
    rig = await supplyRig({ dialect: "selection" });
    const why = rig.supply.driverWhy;
    expect(why.map((each) => each.split(":")[0])).toEqual([
      "numbered-supply",
      "selected-supply",
      "selected-by-name-supply",
      "channel-list-supply",
      "plain-supply",
    ]);
    expect(why[0]).toContain("left, the reply to SOUR2:VOLT? was not a number");
    expect(why[1]).toContain("chosen");
    expect(why[2]).toContain("not tried");
  });

  it("asks nothing that energises, and switches nothing", async () => {
    rig = await supplyRig({ dialect: "plain" });
    for (const line of rig.commands()) expect(line).toMatch(/\?|^\*CLS$/);
    expect(rig.sim.history().filter((each) => each.kind === "state")).toEqual([]);
  });

  it("takes the driver that claims the identity before any that would be found by asking", async () => {
    const own = driverLike("plain-supply", { name: "own-supply", identity: { maker: "^bench$", model: "sim-" } });
    rig = await supplyRig({ dialect: "plain", drivers: [...drivers, own] });
    expect(rig.supply.driver.name).toBe("own-supply");
    expect(rig.supply.driverWhy).toEqual([expect.stringContaining("claims the identity")]);
  });

  it("is an error that names both where two drivers claim one identity", async () => {
    const claims = (name: string) => driverLike("numbered-supply", { name, identity: { maker: "Bench" } });
    await expect(supplyRig({ drivers: [claims("one-supply"), claims("other-supply")] })).rejects.toMatchObject({
      code: "two-drivers",
      message: expect.stringMatching(/"one-supply" and "other-supply" both claim/),
    });
  });

  it("says what each driver lacked where none fits", async () => {
    const list = drivers.filter((each) => each.name === "channel-list-supply");
    await expect(supplyRig({ drivers: list })).rejects.toMatchObject({
      code: "unknown-driver",
      message: expect.stringMatching(/channel-list-supply: left.*docs\/drivers\.md/),
    });
  });

  it("finds a supply whose channels have names", () => {
    expect(driverNamed("selected-by-name-supply", "supply", drivers).name).toBe("selected-by-name-supply");
  });
});

describe("a driver by its name", () => {
  it("that does not exist is refused with the names there are", () => {
    expect(() => driverNamed("plane-supply", "supply", drivers)).toThrow(
      /the choices are channel-list-supply.*plain-supply.*"auto"/,
    );
  });
  it("of the other kind is refused", () => {
    expect(() => driverNamed("scpi-meter", "supply", drivers)).toThrow("it is a driver for a meter");
  });
});

describe("loadDrivers", () => {
  /** A bench file whose one supply names this driver. */
  const naming = (driver: string) => ({
    instruments: { psu: { kind: "supply" as const, address: "TCPIP0::127.0.0.1::5025::SOCKET", driver } },
  });
  const namesOf = (loaded: DriverFile[]): string[] => loaded.map((each) => each.name).sort();
  const SHIPPED = namesOf([...drivers]);

  it("takes of the bench file's folder the driver that the bench file names, and says its file", async () => {
    const own = driverLike("plain-supply", { name: "own-supply" });
    const folder = await folderWith({
      "own-supply.json": own,
      "other-supply.json": driverLike("plain-supply", { name: "other-supply" }),
      "broken.json": "{",
    });
    const loaded = await loadDrivers({ folder, bench: naming("own-supply") });
    expect(namesOf(loaded.drivers)).toEqual([...SHIPPED, "own-supply"].sort());
    expect(loaded.own).toEqual({ "own-supply": path.join(folder, "own-supply.json") });
  });

  it("takes nothing of the folder where the bench file names nothing of it", async () => {
    const claims = driverLike("plain-supply", { name: "any-supply", identity: { maker: "." } });
    const folder = await folderWith({
      "any-supply.json": claims,
      "plain-supply.json": driverLike("plain-supply", { describes: "not the shipped one" }),
    });
    const loaded = await loadDrivers({ folder, bench: naming("auto") });
    expect(loaded).toEqual({ drivers: [...drivers], own: {} });
  });

  it("refuses a driver in the folder that has the name of a shipped one", async () => {
    const folder = await folderWith({ "plain-supply.json": driverLike("plain-supply", {}) });
    await expect(loadDrivers({ folder, bench: naming("plain-supply") })).rejects.toMatchObject({
      code: "bad-input",
      message: expect.stringMatching(/a built-in driver has that name.*nothing was touched/),
    });
  });

  it("names file and field of a misspelt key", async () => {
    const like = driverLike("plain-supply", { name: "own-supply" });
    const folder = await folderWith({ "own-supply.json": { ...like, overVoltge: {} } });
    await expect(loadDrivers({ folder, bench: naming("own-supply") })).rejects.toMatchObject({
      code: "bad-input",
      message: expect.stringMatching(/own-supply\.json.*overVoltge/),
    });
  });

  it("wants the name of the file", async () => {
    const folder = await folderWith({ "mine.json": driverLike("plain-supply", { name: "own-supply" }) });
    await expect(loadDrivers({ folder, bench: naming("mine") })).rejects.toThrow('it should be "mine"');
  });
});

describe("a driver file", () => {
  const numbered = (): Record<string, unknown> =>
    structuredClone(driverLike("numbered-supply", {})) as unknown as Record<string, unknown>;
  const problems = (content: unknown): string[] =>
    DriverFile.safeParse(content).error?.issues.map((each) => `${each.path.join(".")}: ${each.message}`) ?? [];

  it("is refused where one command forgets its channel: it would reach another board", () => {
    const driver = numbered();
    (driver["operations"] as Record<string, string>)["outputOff"] = "OUTP OFF";
    expect(problems(driver)).toEqual([expect.stringContaining("operations.outputOff: has no {channel}")]);
  });

  it.each([
    ["overVoltage", "on"],
    ["overVoltage", "askTripped"],
    ["overVoltage", "clear"],
    ["overCurrent", "askOn"],
    ["overCurrent", "setDelay"],
    ["overCurrent", "clear"],
    ["mode", "ask"],
  ])("is refused where its %s.%s alone forgets the channel", (group, key) => {
    const driver = numbered();
    const words = driver[group] as Record<string, string>;
    words[key] = (words[key] ?? "").replace("{channel}", "");
    expect(problems(driver)).toEqual([expect.stringContaining(`${group}.${key}: has no {channel}`)]);
  });
  it("is refused where a setting has no {value}, a query no question mark, a message a line end", () => {
    const driver = numbered();
    Object.assign(driver["operations"] as object, {
      setVolts: "SOUR{channel}:VOLT",
      askOutput: "OUTP{channel}",
      outputOn: "OUTP{channel} ON\n",
    });
    expect(
      problems(driver)
        .map((each) => each.split(":")[0])
        .sort(),
    ).toEqual(["operations.setVolts", "operations.outputOn", "operations.askOutput"].sort());
  });
  it("is refused where it both names and selects channels", () => {
    const driver = numbered();
    driver["channels"] = { select: { tell: "INST:NSEL {channel}", ask: "INST:NSEL?" } };
    expect(problems(driver)).toEqual([expect.stringContaining("channels.select")]);
  });
  it("is refused where a pattern is no regular expression or braces hold anything else", () => {
    expect(problems({ ...numbered(), identity: { maker: "(" } })).toEqual([expect.stringContaining("identity.maker")]);
    const driver = numbered();
    Object.assign(driver["operations"] as object, { outputOn: "OUTP{chan} ON" });
    expect(problems(driver).join()).toContain("{channel} and {value}");
  });
  it("is refused where several channels could not be cut at once", () => {
    const driver = numbered();
    driver["wire"] = { gapMs: 50, joins: false };
    expect(problems(driver)).toEqual([expect.stringContaining("wire.joins")]);
    expect(problems({ ...driver, channels: { count: 1 } })).toEqual([]);
  });
  it("the guide's example is one", async () => {
    const guide = await readFile(path.resolve("docs/drivers.md"), "utf8");
    const example = /```json\n([\s\S]*?)```/.exec(guide)?.[1] ?? "";
    expect(problems(JSON.parse(example))).toEqual([]);
  });
  it("has a JSON Schema for editors", () => {
    const text = JSON.stringify(z.toJSONSchema(DriverFile, { io: "input" }));
    for (const field of ["gapMs", "overVoltage", "measureBoth", "configureRange"]) expect(text).toContain(field);
  });
  it("every shipped one is one", () => {
    for (const driver of drivers) expect(problems(driver)).toEqual([]);
  });
});
