import { spawnSync } from "node:child_process";
import { existsSync, readdirSync, readFileSync } from "node:fs";
import { afterEach, beforeEach, expect, test } from "vitest";
import { HostChange, HostLook } from "../../shared/record/host-look.ts";
import { endPrograms, runProgram, startProgram, testFolder } from "../command/run-program.ts";
import { CARD, correctable, PORT, portConfig, SysfsTree } from "./sysfs-tree.ts";

let tree: SysfsTree;
beforeEach(() => {
  tree = new SysfsTree();
  tree.add("0000:00:01.0", PORT, "pcieport");
});
afterEach(async () => {
  await endPrograms();
  tree.remove();
});

const lookAt = async (...args: string[]) => {
  const { code, out, err } = await runProgram(["host-look", "--sysfs", tree.root, ...args]);
  return { code, err, look: out === "" ? null : HostLook.parse(JSON.parse(out)) };
};

test("every file of a card and its port comes out, with totals, unassigned regions and the slot's state", async () => {
  tree.add("0000:01:00.0", CARD, "demo");
  tree.bytes("0000:00:01.0", "config", portConfig({ present: true, active: true }));
  const { code, look } = await lookAt();
  expect(code).toBe(0);
  expect(look?.devices).toEqual([
    expect.objectContaining({
      address: "0000:00:01.0",
      class: "060400",
      driver: "pcieport",
      link: { speedGt: 8, width: 8, maxSpeedGt: 8, maxWidth: 16 },
      aer: { correctable: null, nonfatal: null, fatal: null },
      port: { secondaryBus: 1, presence: "present", linkActive: true },
    }),
    {
      address: "0000:01:00.0",
      vendor: "1234",
      device: "1111",
      class: "030000",
      revision: "a1",
      subsystemVendor: "1234",
      subsystemDevice: "0002",
      driver: "demo",
      link: { speedGt: 8, width: 8, maxSpeedGt: 8, maxWidth: 8 },
      aer: { correctable: 3, nonfatal: 0, fatal: 0 },
      errorBits: null,
      optionRom: true,
      unassignedRegions: 1,
      port: null,
    },
  ]);
});

test("an empty slot is told from one with a card and no link", async () => {
  tree.bytes("0000:00:01.0", "config", portConfig({ present: false, active: false }));
  expect((await lookAt()).look?.devices[0]?.port).toMatchObject({ presence: "absent", linkActive: false });
  tree.bytes("0000:00:01.0", "config", portConfig({ present: true, active: false }));
  expect((await lookAt()).look?.devices[0]?.port).toMatchObject({ presence: "present", linkActive: false });
});

test("what everybody may read of a port, 64 bytes, leaves its slot unknown, and a note says why", async () => {
  tree.bytes("0000:00:01.0", "config", portConfig({ present: true, active: true }).slice(0, 64));
  const { look } = await lookAt();
  expect(look?.devices[0]?.port).toEqual({ secondaryBus: 1, presence: null, linkActive: null });
  expect(look?.notes.join()).toContain("root");
});

test("a watch tells a device that appears, narrows, errs and goes, each once and in order", async () => {
  const watch = startProgram(["host-look", "--sysfs", tree.root, "--watch", "--every", "0.05"]);
  await watch.until("out", /firstamp-host-look/);
  tree.add("0000:01:00.0", CARD, "demo");
  await watch.until("out", /"what":"appeared".*\n/);
  tree.set("0000:01:00.0", "current_link_width", "4");
  await watch.until("out", /"what":"link".*\n/);
  tree.set("0000:01:00.0", "aer_dev_correctable", correctable(90));
  await watch.until("out", /"what":"errors".*\n/);
  tree.go("0000:01:00.0");
  await watch.until("out", /"what":"gone".*\n/);
  watch.child.kill("SIGINT");
  const { code, out } = await watch.ended;
  expect(code).toBe(0);
  const [, ...lines] = out.trim().split("\n");
  // A device's files do not come all at once, as with the kernel: what came while it appeared is not counted here.
  const changes = lines.map((line) => HostChange.parse(JSON.parse(line)));
  expect(changes.every((each) => each.address === "0000:01:00.0")).toBe(true);
  expect(changes.filter(({ what }) => what === "gone")).toHaveLength(1);
  expect(changes.findLast(({ what }) => what === "link")).toMatchObject({ from: "8 GT/s x8", to: "8 GT/s x4" });
  expect(changes.findLast(({ what }) => what === "errors")?.to).toContain("90 correctable");
});

test("a scan is asked for first: without a terminal nothing is written, with --yes the kernel's file gets a 1", async () => {
  const file = `${tree.root}/bus/pci/rescan`;
  const refused = await lookAt("--rescan");
  expect(refused).toMatchObject({ code: 2, look: null });
  expect(readFileSync(file, "utf8")).toBe("");
  const done = await lookAt("--rescan", "--yes");
  expect(done).toMatchObject({ code: 0, look: { rescanned: true } });
  expect(readFileSync(file, "utf8")).toBe("1");
});

test("a folder that is no /sys is refused with what should be there", async () => {
  const { code, err } = await runProgram(["host-look", "--sysfs", "/nowhere"]);
  expect(code).toBe(2);
  expect(err).toContain("/nowhere/bus/pci/devices");
});

test("the one file that is carried does the same with Node alone", async () => {
  tree.add("0000:01:00.0", CARD, "demo");
  const { out: script } = await runProgram(["host-look", "--print-script"]);
  const folder = await testFolder();
  try {
    const file = await folder.write("host-look.mjs", script);
    const ran = spawnSync(process.execPath, [file, "--sysfs", tree.root], {
      cwd: folder.path,
      encoding: "utf8",
      env: {},
    });
    expect(ran.status, ran.stderr).toBe(0);
    const { lookedAt: _, ...carried } = HostLook.parse(JSON.parse(ran.stdout));
    expect((await lookAt()).look).toMatchObject(carried);
  } finally {
    await folder.remove();
  }
});

test("this machine's own /sys: as many devices as the kernel shows, with their ids; without a PCI bus it says so", async () => {
  const folder = "/sys/bus/pci/devices";
  const { code, out, err } = await runProgram(["host-look"]);
  if (!existsSync(folder)) {
    expect(code).toBe(2);
    expect(err).toContain(folder);
    return;
  }
  expect(code).toBe(0);
  const { devices } = HostLook.parse(JSON.parse(out));
  expect(devices.map((each) => each.address)).toEqual(readdirSync(folder).sort());
  for (const { address, vendor, device } of devices) {
    expect(readFileSync(`${folder}/${address}/vendor`, "utf8").trim()).toBe(`0x${vendor}`);
    expect(readFileSync(`${folder}/${address}/device`, "utf8").trim()).toBe(`0x${device}`);
  }
});
