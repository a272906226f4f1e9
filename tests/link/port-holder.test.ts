import { execFileSync } from "node:child_process";
import {
  closeSync,
  constants,
  mkdirSync,
  mkdtempSync,
  openSync,
  rmSync,
  statSync,
  symlinkSync,
  writeFileSync,
} from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, test } from "vitest";
import { openError } from "../../src/link/open-error.ts";
import { portHolder } from "../../src/system/port-holder.ts";
import { HandClock } from "../hand-clock.ts";

const OWN = 50;
let folder: string;
let procRoot: string;
let port: string;
const pipes: string[] = [];
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "firstamp-holder-"));
  [procRoot, port] = [join(folder, "proc"), join(folder, "port")];
  mkdirSync(procRoot);
  writeFileSync(port, "");
});
afterEach(() => {
  // A writer for a moment: a read that still waits ends.
  for (const pipe of pipes.splice(0)) closeSync(openSync(pipe, constants.O_RDWR | constants.O_NONBLOCK));
  rmSync(folder, { recursive: true, force: true });
});

/** A process as /proc shows it, with these files open. */
function addProcess(pid: number, ...open: string[]): void {
  const fds = join(procRoot, String(pid), "fd");
  mkdirSync(fds, { recursive: true });
  for (const [at, file] of ["/dev/null", ...open].entries()) symlinkSync(file, join(fds, String(at)));
  writeFileSync(join(procRoot, String(pid), "cmdline"), `program\0${pid}\0`);
}

function addLocks(...held: { pid: number; file: string }[]): void {
  const lines = held.map(
    ({ pid, file }, at) => `${at + 1}: FLOCK  ADVISORY  WRITE ${pid} 00:1a:${statSync(file).ino} 0 EOF`,
  );
  writeFileSync(join(procRoot, "locks"), `${lines.join("\n")}\n`);
}

const holderOf = () => portHolder(port, procRoot, OWN);

describe("the holder of a port", () => {
  test("is the process that has its lock, whoever else has it open", async () => {
    const other = join(folder, "other");
    writeFileSync(other, "");
    for (const pid of [7, OWN, 900]) addProcess(pid, port);
    addProcess(3, other);
    addLocks({ pid: 3, file: other }, { pid: 900, file: port });
    expect(await holderOf()).toEqual({ pid: 900, command: "program 900" });
  });

  test("is found by its lock without a look at any other process", async () => {
    for (const pid of [7, OWN]) addProcess(pid, port);
    addProcess(900, port);
    addLocks({ pid: 900, file: port });
    // Whoever reads of another process waits here for ever.
    pipes.push(...[7, OWN].map((pid) => join(procRoot, String(pid), "cmdline")));
    for (const pipe of pipes) rmSync(pipe);
    execFileSync("mkfifo", pipes);
    expect(await holderOf()).toMatchObject({ pid: 900 });
  }, 10_000);

  test("is this process itself where no lock is known, and else the lowest pid of those that have it open", async () => {
    for (let pid = 1; pid < 40; pid++) addProcess(pid);
    for (const pid of [1200, 400, OWN]) addProcess(pid, port);
    expect(await holderOf()).toMatchObject({ pid: OWN });
    rmSync(join(procRoot, String(OWN)), { recursive: true });
    expect(await holderOf()).toMatchObject({ pid: 400 });
  });

  test("is one that has it open where the lock's process is gone or may not be seen", async () => {
    addProcess(30, port);
    addLocks({ pid: 20, file: port });
    expect(await holderOf()).toMatchObject({ pid: 30 });
  });

  test("is unknown where no process is seen to have it open, and where there is no folder of processes", async () => {
    addProcess(30);
    expect(await holderOf()).toBeUndefined();
    expect(await portHolder(port, join(folder, "none"))).toBeUndefined();
  });
});

test("a holder that is not found within 500 ms is not waited for", async () => {
  const clock = new HandClock();
  const told = openError(port, new Error("Cannot lock port"), clock);
  clock.advance(500);
  const error = await told;
  expect(error.code).toBe("port-in-use");
  expect(error.message).toContain("another process, which this user may not see");
});
