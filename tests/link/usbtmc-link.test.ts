import { afterEach, beforeEach, describe, expect, test } from "vitest";
import type { CharDevice } from "../../src/link/char-device.ts";
import type { Link, LinkClosed } from "../../src/link/link.ts";
import { usbtmcDevices } from "../../src/link/usbtmc-devices.ts";
import { openUsbtmcLink } from "../../src/link/usbtmc-link.ts";
import { realClock } from "../../src/system/real-clock.ts";
import { HandClock } from "../hand-clock.ts";
import { until } from "./until.ts";
import { type UsbtmcRig, usbtmcRig } from "./usbtmc-rig.ts";

let rig: UsbtmcRig;
beforeEach(() => {
  rig = usbtmcRig();
});
afterEach(() => rig.close());

const ADDRESS = "USB0::0x1234::0x5678::S1::INSTR";
const place = { vendor: 0x1234, product: 0x5678, address: ADDRESS, clock: realClock, deadlineMs: 3000 };

/** A device whose reads are settled by hand: `calls` lists what was done, in order. */
function handDevice() {
  const calls: string[] = [];
  const reads: { answer(text: string): void; fail(code: string): void }[] = [];
  const device: CharDevice = {
    open: async (path) => {
      calls.push(`open ${path.split("/").at(-1)}`);
      return 77;
    },
    write: async (_fd, bytes) => {
      calls.push(`write ${bytes.toString("latin1").trim()}`);
      return bytes.length;
    },
    read: (_fd, into) =>
      new Promise((resolve, reject) => {
        calls.push("read");
        reads.push({
          answer: (text) => resolve(into.write(text, "latin1")),
          fail: (code) => reject(Object.assign(new Error(`${code}: read`), { code })),
        });
      }),
    close: async () => {
      calls.push("close");
    },
  };
  return { device, calls, reads };
}

async function openByHand() {
  rig.add("usbtmc0", { idVendor: "1234", idProduct: "5678", serial: "S1" });
  const hand = handDevice();
  const clock = new HandClock();
  const link = await openUsbtmcLink({ ...place, clock, sysRoot: rig.sysRoot, device: hand.device });
  const lines: string[] = [];
  const closed: LinkClosed[] = [];
  link.onLine(({ text }) => lines.push(text));
  link.onClose((each) => closed.push(each));
  return { ...hand, clock, link: link as Link, lines, closed };
}

describe("usbtmcDevices()", () => {
  test("reads the ids of the device an interface belongs to", async () => {
    rig.add("usbtmc10", { idVendor: "abcd", idProduct: "00ef" });
    rig.add("usbtmc2", { idVendor: "1234", idProduct: "5678", serial: "S1", manufacturer: "Bench", product: "Supply" });
    expect(await usbtmcDevices(rig.sysRoot)).toEqual([
      { name: "usbtmc2", vendor: 0x1234, product: 0x5678, serialNumber: "S1", words: "Bench Supply" },
      { name: "usbtmc10", vendor: 0xabcd, product: 0xef, serialNumber: undefined, words: "" },
    ]);
  });

  test("is empty where there is no sysfs, and leaves out what it cannot read", async () => {
    expect(await usbtmcDevices("/no/such/folder")).toEqual([]);
    rig.add("usbtmc0", { idVendor: "?", idProduct: "5678" });
    expect(await usbtmcDevices(rig.sysRoot)).toEqual([]);
  });
});

describe("opening a usbtmc device", () => {
  test("takes the one with the serial number of the address, however it is spelt", async () => {
    rig.add("usbtmc0", { idVendor: "1234", idProduct: "5678", serial: "OTHER" });
    rig.add("usbtmc1", { idVendor: "1234", idProduct: "5678", serial: "s1" });
    const { device, calls } = handDevice();
    const link = await openUsbtmcLink({ ...place, serialNumber: "S1", sysRoot: rig.sysRoot, device });
    expect(calls).toEqual(["open usbtmc1"]);
    await link.close();
    expect(calls).toEqual(["open usbtmc1", "close"]);
  });

  test("that is not there says so", async () => {
    rig.add("usbtmc0", { idVendor: "1234", idProduct: "0001" });
    await expect(openUsbtmcLink({ ...place, sysRoot: rig.sysRoot })).rejects.toMatchObject({
      code: "no-such-port",
      message: expect.stringContaining("1 others"),
    });
  });

  test("that two instruments fit asks for the serial number and lists both", async () => {
    rig.add("usbtmc0", { idVendor: "1234", idProduct: "5678", serial: "S1" });
    rig.add("usbtmc1", { idVendor: "1234", idProduct: "5678", serial: "S2" });
    await expect(openUsbtmcLink({ ...place, sysRoot: rig.sysRoot })).rejects.toMatchObject({
      code: "bad-address",
      message: expect.stringContaining("S1, S2"),
    });
  });

  test("without a device file says that there is no such port", async () => {
    rig.add("usbtmc0", { idVendor: "1234", idProduct: "5678" });
    await expect(openUsbtmcLink({ ...place, sysRoot: rig.sysRoot, devRoot: rig.devRoot })).rejects.toMatchObject({
      code: "no-such-port",
    });
  });

  test("without the right to says which command helps", async () => {
    rig.add("usbtmc0", { idVendor: "1234", idProduct: "5678" });
    const device = {
      ...handDevice().device,
      open: () => Promise.reject(Object.assign(new Error("EACCES: permission denied, open"), { code: "EACCES" })),
    };
    await expect(openUsbtmcLink({ ...place, sysRoot: rig.sysRoot, device })).rejects.toMatchObject({
      code: "no-permission",
      message: expect.stringContaining("sudo usermod -aG"),
    });
  });

  test("ends at its deadline, and a device that opens after it is given back", async () => {
    rig.add("usbtmc0", { idVendor: "1234", idProduct: "5678" });
    const { device, calls } = handDevice();
    let openLate: (fd: number) => void = () => undefined;
    const clock = new HandClock();
    const slow = {
      ...device,
      open: () => {
        calls.push("open");
        return new Promise<number>((resolve) => {
          openLate = resolve;
        });
      },
    };
    const opening = openUsbtmcLink({ ...place, clock, sysRoot: rig.sysRoot, device: slow });
    const refused = expect(opening).rejects.toMatchObject({ code: "no-reply" });
    await until(() => calls.includes("open"));
    clock.advance(3000);
    await refused;
    openLate(78);
    await until(() => calls.includes("close"));
  });
});

describe("a usbtmc link", () => {
  test("reads once for each message that wants an answer, and not for others", async () => {
    const { link, calls, reads, lines } = await openByHand();
    link.write("VOLT 1\n");
    link.write("MEAS:VOLT?\n", { expectsReply: true });
    await until(() => reads.length === 1);
    reads[0]?.answer("+1.00E+00\n");
    await until(() => lines.length === 1);
    expect(calls).toEqual(["open usbtmc0", "write VOLT 1", "write MEAS:VOLT?", "read"]);
  });

  test("the end of a message is the end of a line, with a terminator or without", async () => {
    const { link, reads, lines } = await openByHand();
    for (const [at, text] of ["1.0", "2.0\n", "3.0\r\n"].entries()) {
      link.write("V?\n", { expectsReply: true });
      await until(() => reads.length === at + 1);
      reads[at]?.answer(text);
      await until(() => lines.length === at + 1);
    }
    expect(lines).toEqual(["1.0", "2.0", "3.0"]);
  });

  test("the rest of an over-long answer is read and dropped, not taken for the next one", async () => {
    const { link, reads, lines } = await openByHand();
    link.write("LONG?\n", { expectsReply: true });
    await until(() => reads.length === 1);
    reads[0]?.answer("7".repeat(16 * 1024));
    await until(() => reads.length === 2);
    reads[1]?.answer("77\n");
    link.write("V?\n", { expectsReply: true });
    await until(() => reads.length === 3);
    reads[2]?.answer("12.34\n");
    await until(() => lines.length > 0);
    expect(lines).toEqual(["12.34"]);
    expect(link.counters.junk).toBe(1);
  });

  test.each(["ETIMEDOUT", "EPROTO", "EINTR"])("a read that fails by %s leaves the link usable", async (code) => {
    const { link, reads, lines, closed } = await openByHand();
    link.write("V?\n", { expectsReply: true });
    await until(() => reads.length === 1);
    reads[0]?.fail(code);
    link.write("V?\n", { expectsReply: true });
    await until(() => reads.length === 2);
    reads[1]?.answer("12.34\n");
    await until(() => lines.length === 1);
    expect(closed).toEqual([]);
  });

  test.each(["ENODEV", "EIO", "ESHUTDOWN"])(
    "a read that fails by %s is a hang-up, and nothing that waited is sent",
    async (code) => {
      const { link, reads, calls, closed } = await openByHand();
      link.write("V?\n", { expectsReply: true });
      await until(() => reads.length === 1);
      link.write("OUTP ON\n");
      reads[0]?.fail(code);
      await until(() => closed.length === 1);
      expect(closed[0]?.why).toBe("hang-up");
      await link.close();
      expect(calls.at(-1)).toBe("close");
      expect(calls).not.toContain("write OUTP ON");
    },
  );

  test("a message without an answer overtakes questions that still wait, never other such messages", async () => {
    const { link, reads, calls } = await openByHand();
    link.write("A?\n", { expectsReply: true });
    await until(() => reads.length === 1);
    link.write("*IDN?\n", { expectsReply: true });
    link.write("OUTP OFF\n");
    link.write("VOLT 0\n");
    reads[0]?.fail("ETIMEDOUT");
    await until(() => reads.length === 2);
    expect(calls.slice(3)).toEqual(["write OUTP OFF", "write VOLT 0", "write *IDN?", "read"]);
  });

  test("what may wait is bounded", async () => {
    const { link, closed } = await openByHand();
    const flood = () => {
      for (let at = 0; at < 100; at++) link.write("V?\n", { expectsReply: true });
    };
    expect(flood).toThrow(
      expect.objectContaining({ code: "link-closed", message: expect.stringContaining("16 messages wait") }),
    );
    await until(() => closed.length === 1);
  });

  test("close() ends after 1 s while a read hangs; the descriptor is closed when the read is over, not before", async () => {
    const { link, reads, calls, clock, closed } = await openByHand();
    link.write("V?\n", { expectsReply: true });
    await until(() => reads.length === 1);
    const closing = link.close();
    clock.advance(1000);
    await closing;
    expect(closed).toMatchObject([{ why: "asked" }]);
    expect(calls).not.toContain("close");
    reads[0]?.fail("ETIMEDOUT");
    await until(() => calls.includes("close"));
  });
});
