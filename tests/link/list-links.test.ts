import { mkdirSync, symlinkSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, test } from "vitest";
import { listLinks } from "../../src/link/list-links.ts";
import { parseVisaAddress } from "../../src/link/visa-address.ts";
import { HandClock } from "../hand-clock.ts";
import { type UsbtmcRig, usbtmcRig } from "./usbtmc-rig.ts";

let rig: UsbtmcRig;
beforeEach(() => {
  rig = usbtmcRig();
});
afterEach(() => rig.close());

function addTty(name: string, driver?: string, files: Record<string, string> = {}): void {
  const entry = join(rig.sysRoot, "class/tty", name);
  mkdirSync(entry, { recursive: true });
  for (const [file, text] of Object.entries(files)) writeFileSync(join(entry, file), `${text}\n`);
  writeFileSync(join(rig.devRoot, name), "");
  if (driver === undefined) return;
  const [device, driverFolder] = [join(rig.sysRoot, "devices", name), join(rig.sysRoot, "drivers", driver)];
  for (const folder of [device, driverFolder]) mkdirSync(folder, { recursive: true });
  symlinkSync(driverFolder, join(device, "driver"));
  symlinkSync(device, join(entry, "device"));
}

const list = (listPorts: () => Promise<{ path: string; words: string }[] | undefined>) =>
  listLinks({ sysRoot: rig.sysRoot, devRoot: rig.devRoot, listPorts });
const noListing = async () => undefined;

describe("listLinks()", () => {
  test("of this machine answers in time with addresses that can be read", async () => {
    for (const { address } of await listLinks()) expect(parseVisaAddress(address)).toBeDefined();
  });

  test("lists USB instruments and the ports that have a driver, from sysfs", async () => {
    addTty("ttyUSB10", "bridge");
    addTty("ttyUSB2", "bridge");
    addTty("tty1");
    rig.add("usbtmc0", { idVendor: "1234", idProduct: "5678", serial: "S1", manufacturer: "Bench", product: "Meter" });
    expect(await list(noListing)).toEqual([
      { address: `ASRL${rig.devRoot}/ttyUSB2::INSTR`, words: "bridge" },
      { address: `ASRL${rig.devRoot}/ttyUSB10::INSTR`, words: "bridge" },
      { address: "USB0::0x1234::0x5678::S1::INSTR", words: "Bench Meter" },
    ]);
  });

  test("leaves out on-board ports without hardware and the system's console", async () => {
    addTty("ttyS0", "serial", { type: "4", console: "Y" });
    addTty("ttyS1", "serial", { type: "0", console: "N" });
    addTty("ttyS2", "serial", { type: "4", console: "N" });
    expect((await list(noListing)).map(({ address }) => address)).toEqual([`ASRL${rig.devRoot}/ttyS2::INSTR`]);
    const all = [0, 1, 2].map((at) => ({ path: `${rig.devRoot}/ttyS${at}`, words: "" }));
    expect((await list(async () => all)).map(({ address }) => address)).toEqual([`ASRL${rig.devRoot}/ttyS2::INSTR`]);
  });

  test("names a port by its id, which outlives a replug", async () => {
    addTty("ttyUSB0", "bridge");
    mkdirSync(join(rig.devRoot, "serial/by-id"), { recursive: true });
    const byId = join(rig.devRoot, "serial/by-id/usb-bridge_S1-if00");
    symlinkSync("../../ttyUSB0", byId);
    expect(await list(noListing)).toEqual([{ address: `ASRL${byId}::INSTR`, words: "bridge" }]);
  });

  test.each([
    ["rejects", () => Promise.reject(new Error("spawn udevadm ENOENT"))],
    ["says that there is none", () => Promise.resolve([])],
  ])("goes by sysfs where the system's listing %s", async (_how, listPorts) => {
    addTty("ttyUSB0", "bridge");
    expect(await list(listPorts)).toHaveLength(1);
  });

  test("goes by sysfs where the system's listing never settles", async () => {
    addTty("ttyUSB0", "bridge");
    const clock = new HandClock();
    const never = () => new Promise<undefined>(() => undefined);
    const listing = listLinks({ sysRoot: rig.sysRoot, devRoot: rig.devRoot, listPorts: never, clock });
    clock.advance(1500);
    expect(await listing).toHaveLength(1);
  });

  test("is empty, and does not throw, where there is nothing to read", async () => {
    expect(await listLinks({ sysRoot: "/no/such", devRoot: "/no/such", listPorts: noListing })).toEqual([]);
  });
});
