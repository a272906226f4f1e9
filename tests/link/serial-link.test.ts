import { execFileSync, spawn } from "node:child_process";
import {
  chmodSync,
  closeSync,
  constants,
  mkdtempSync,
  openSync,
  readdirSync,
  readlinkSync,
  realpathSync,
  rmSync,
  writeFileSync,
} from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, test } from "vitest";
import type { BenchError } from "../../shared/bench-error.ts";
import type { Clock } from "../../shared/clock.ts";
import type { Link, LinkClosed } from "../../src/link/link.ts";
import { openLink } from "../../src/link/open-link.ts";
import { realClock } from "../../src/system/real-clock.ts";
import { HandClock } from "../hand-clock.ts";
import { openPtyPair, type PtyPair } from "./pty-pair.ts";
import { until } from "./until.ts";

let pair: PtyPair;
beforeEach(async () => {
  pair = await openPtyPair();
});
afterEach(() => pair.close());

const addressOf = (path: string) => `ASRL${path}::INSTR`;
const refusal = (address: string, clock: Clock = realClock): Promise<BenchError> =>
  openLink({ address, clock }).then(
    () => {
      throw new Error(`${address} opened`);
    },
    (error: BenchError) => error,
  );

/** Where this process's descriptors lead. */
function openFiles(): string[] {
  return readdirSync("/proc/self/fd").flatMap((fd) => {
    try {
      return [readlinkSync(`/proc/self/fd/${fd}`)];
    } catch {
      return [];
    }
  });
}

describe("opening a serial port", () => {
  test("that is not there says so, and that nothing was touched", async () => {
    const error = await refusal("ASRL/dev/no-such-port::INSTR");
    expect(error.code).toBe("no-such-port");
    expect(error.message).toMatch(/"\/dev\/no-such-port".*port does not exist.*no output was touched/);
  });

  test("that is an ordinary file or a folder says so", async () => {
    const folder = mkdtempSync(join(tmpdir(), "firstamp-file-"));
    try {
      writeFileSync(join(folder, "file"), "");
      const error = await refusal(addressOf(join(folder, "file")));
      expect(error.code).toBe("no-such-port");
      expect(error.message).toContain("is not a serial port");
      expect((await refusal(addressOf(folder))).code).toBe("no-such-port");
    } finally {
      rmSync(folder, { recursive: true });
    }
  });

  test("that another process holds names that process and its command", async () => {
    const program = `
      const { SerialPort } = require("serialport");
      const port = new SerialPort({ path: ${JSON.stringify(pair.a)}, baudRate: 9600 }, (error) => console.log(error ? error.message : "held"));
      port.resume();`;
    const holder = spawn(process.execPath, ["-e", program], { stdio: ["ignore", "pipe", "inherit"] });
    const gone = new Promise((resolve) => holder.once("exit", resolve));
    try {
      await new Promise<void>((resolve, reject) => {
        holder.stdout.once("data", (said: Buffer) =>
          String(said).trim() === "held" ? resolve() : reject(new Error(String(said))),
        );
      });
      // Its clock stands still: the search ends when it is done, however slow the machine is.
      const error = await refusal(addressOf(pair.a), new HandClock());
      expect(error.code).toBe("port-in-use");
      expect(error.message).toContain(`process ${holder.pid}: `);
      expect(error.message).toContain(process.execPath);
    } finally {
      holder.kill("SIGKILL");
      await gone;
    }
    const link = await openLink({ address: addressOf(pair.a), clock: realClock });
    await link.close();
  });

  test("twice in one process says that the process itself holds it", async () => {
    const first = await openLink({ address: addressOf(pair.a), clock: realClock });
    const error = await refusal(addressOf(pair.a), new HandClock());
    const brief = openLink({ address: addressOf(pair.a), clock: realClock, findsHolder: false });
    await expect(brief).rejects.toMatchObject({
      code: "port-in-use",
      message: expect.stringContaining("another process"),
    });
    await first.close();
    expect(error.code).toBe("port-in-use");
    expect(error.message).toContain(`this program itself (pid ${process.pid})`);
  });

  test("without the right to gives the one command that helps", async () => {
    chmodSync(realpathSync(pair.a), 0o600);
    const folder = realpathSync(join(pair.a, ".."));
    chmodSync(folder, 0o755);
    const isRoot = process.getuid?.() === 0;
    if (isRoot) process.seteuid?.(65534);
    else chmodSync(realpathSync(pair.a), 0);
    let error: BenchError;
    try {
      error = await refusal(addressOf(pair.a));
    } finally {
      if (isRoot) process.seteuid?.(0);
    }
    expect(error.code).toBe("no-permission");
    expect(error.message).toMatch(/sudo usermod -aG \w+ "\$USER"/);
  });

  test("ends at its deadline, and a port that opens after it is given back", async () => {
    const clock = new HandClock();
    const refused = refusal(addressOf(pair.a), clock);
    clock.advance(3000);
    expect(await refused).toMatchObject({ code: "no-reply" });
    // Held until the late open was given back; held for ever, this test would never end.
    let link: Link | undefined;
    while (link === undefined)
      link = await openLink({ address: addressOf(pair.a), clock: realClock }).catch(() => undefined);
    await link.close();
  });

  test("with modem lines set is refused where there are none, and the port is given back", async () => {
    const asked = openLink({ address: addressOf(pair.a), serial: { dtr: false }, clock: realClock });
    await expect(asked).rejects.toMatchObject({ code: "bad-input", message: expect.stringContaining("DTR") });
    await (await openLink({ address: addressOf(pair.a), clock: realClock })).close();
  });

  test("sets the line as asked", async () => {
    const serial = { baudRate: 19200, dataBits: 7, parity: "even", stopBits: 2, flowControl: "hardware" } as const;
    const link = await openLink({ address: addressOf(pair.a), serial, clock: realClock });
    const told = execFileSync("stty", ["-F", pair.a, "-a"], { encoding: "latin1" });
    await link.close();
    // A pty keeps 8 bits and no parity whatever it is told (Linux, pty.c): those need a real port.
    expect(told).toContain("speed 19200 baud");
    expect(told).toMatch(/(^|\s)cstopb/);
    expect(told).toMatch(/(^|\s)crtscts/);
  });

  test.each([
    [undefined, "-hupcl"],
    [true, "hupcl"],
  ] as const)("with hangUpOnClose %s leaves %s, and bytes received in error marked", async (hangUpOnClose, flag) => {
    const serial = hangUpOnClose === undefined ? {} : { hangUpOnClose };
    const link = await openLink({ address: addressOf(pair.a), serial, clock: realClock });
    const words = () => execFileSync("stty", ["-F", pair.a, "-a"], { encoding: "latin1" }).split(/[\s;]+/);
    await until(() => words().includes("parmrk"));
    expect(words()).toEqual(expect.arrayContaining([flag, "inpck", "-ignpar", "parmrk", "-ixon", "-icanon", "-echo"]));
    await link.close();
  });
});

describe("a serial link", () => {
  test.each([
    ["without a write", false],
    ["by the next write", true],
  ])(
    "a hang-up while bytes stream in is noticed %s, and the port is given back, 20 times of 20",
    async (_how, writes) => {
      for (let trial = 0; trial < 20; trial++) {
        const line = await openPtyPair();
        const device = realpathSync(line.a);
        const link = await openLink({ address: addressOf(line.a), clock: realClock });
        const closed: LinkClosed[] = [];
        link.onClose((each) => closed.push(each));
        const far = openSync(line.b, constants.O_WRONLY | constants.O_NOCTTY);
        const flood = spawn("yes", ["+1.2345E+01"], { stdio: ["ignore", far, "ignore"] });
        const floodEnded = new Promise((resolve) => flood.once("exit", resolve));
        closeSync(far);
        await until(() => link.counters.bytesRead > 20_000);
        line.hangUp();
        const fromMs = realClock.nowMs();
        await until(() => {
          try {
            if (writes && link.isOpen) link.write("*IDN?\n");
          } catch (error) {
            expect(error).toMatchObject({ code: "link-closed" });
          }
          return closed.length > 0;
        });
        // Pass criterion of the fault catalogue (ours).
        expect(realClock.nowMs() - fromMs).toBeLessThan(500);
        await link.close();
        expect(closed).toHaveLength(1);
        // A busy system closes the descriptor a moment later; one that stays open is waited for in vain.
        await until(() => !openFiles().some((file) => file === device || file === `${device} (deleted)`));
        await line.close();
        await floodEnded;
      }
    },
    30_000,
  );

  test("write() hands its bytes to the system in the same turn", async () => {
    const link = await openLink({ address: addressOf(pair.a), clock: realClock });
    link.write("OUTP OFF\n");
    // Asked of the kernel before this turn ends: the far end, read by another process, has it.
    const heard = execFileSync("head", ["-c", "9", pair.b], { encoding: "latin1", timeout: 4000 });
    expect(heard).toBe("OUTP OFF\n");
    await link.close();
  });

  test("a port that takes nothing fails the link after 1 s, and what waits is bounded", async () => {
    const clock = new HandClock();
    const link = await openLink({ address: addressOf(pair.a), clock });
    const closed: LinkClosed[] = [];
    link.onClose((each) => closed.push(each));
    // Nobody reads the far end: pty and socat hold some kilobytes, the rest waits here.
    let refused: unknown;
    while (refused === undefined) {
      try {
        link.write(`${"X".repeat(8191)}\n`);
      } catch (error) {
        refused = error;
      }
    }
    expect(refused).toMatchObject({ code: "link-closed", message: expect.stringContaining("accepts nothing") });
    expect(link.counters.bytesWritten).toBeLessThan(1024 * 1024);
    await until(() => closed.length > 0);
    expect(closed[0]?.why).toBe("write-failed");
    await link.close();

    const other = await openLink({ address: addressOf(pair.a), clock });
    const otherClosed: LinkClosed[] = [];
    other.onClose((each) => otherClosed.push(each));
    other.write(`${"X".repeat(60_000)}\n`);
    clock.advance(1000);
    await until(() => otherClosed.length > 0);
    expect(otherClosed[0]).toMatchObject({ why: "write-failed", detail: expect.stringContaining("1000 ms") });
    await other.close();
  });
});
