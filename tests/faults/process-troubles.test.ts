import { spawnSync } from "node:child_process";
import { describe, expect, test } from "vitest";
import { energise } from "./energised-program.ts";
import { insideOf } from "./inspector.ts";
import { trials } from "./trials.ts";

const BLOCKED = "{ const until = Date.now() + 10_000; while (Date.now() < until); }";
const THROWS = 'setTimeout(() => { throw new Error("made by a test"); }, 0)';

describe("inside a process, by its own debugger", () => {
  test.each([
    ["daemon", BLOCKED, "a loop that does not end", 300],
    ["bench", BLOCKED, "a loop that does not end", 300],
    ["daemon", THROWS, "an unexpected error", 50],
    ["bench", THROWS, "an unexpected error", 50],
  ] as const)("the %s process, %#: off in time", async (which, script, what, limitMs) => {
    await trials({
      row: `${what === "an unexpected error" ? "error" : "block"} ${which}`,
      fault: `${what} in the ${which} process`,
      transports: ["tcp"],
      count: 2,
      limitMs,
      waits: which,
      arm: async ({ pids }) => {
        const inside = await insideOf(pids[which]);
        return () => inside.run(script);
      },
    });
  });
});

describe("from outside", () => {
  test("the terminal is closed: off within 50 ms, and the program ends with 1", async () => {
    await trials({
      row: "hang-up",
      fault: "the terminal is closed (SIGHUP to the group)",
      transports: ["tcp", "pty"],
      count: 4,
      limitMs: 50,
      arm:
        ({ pids }) =>
        () =>
          process.kill(-pids.daemon, "SIGHUP"),
      after: async ({ ended }) => expect(await ended).toBe(1),
    });
  });

  // RLIMIT_FSIZE on a running process: every write that would make a file longer fails from then on, as on a full disk.
  const fillDisk = (pid: number): void => {
    const { status, stderr } = spawnSync("prlimit", ["--pid", String(pid), "--fsize=1024"], { encoding: "utf8" });
    expect(stderr).toBe("");
    expect(status).toBe(0);
  };

  test("the disk is full in mid-run: off, and it is said", async () => {
    const program = await energise({ transport: "tcp" });
    try {
      const off = program.offAfter(10_000);
      fillDisk(program.pids.daemon);
      expect(await off).toBeLessThanOrEqual(3000);
      expect(await program.ended).toBe(1);
      expect(program.stderr()).toMatch(/record|disk|space|write/i);
    } finally {
      await program.close();
    }
  });

  test("a cut is no later with a full disk", async () => {
    await trials({
      row: "full disk",
      fault: "SIGTERM with the disk full",
      transports: ["tcp"],
      count: 4,
      limitMs: 50,
      arm: ({ pids }) => {
        fillDisk(pids.daemon);
        return () => process.kill(pids.daemon, "SIGTERM");
      },
    });
  });
});
