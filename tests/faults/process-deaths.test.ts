import { describe, expect, test } from "vitest";
import { openDataFolder } from "../../src/daemon/process/data-folder.ts";
import { type EnergisedProgram, energise } from "./energised-program.ts";
import { TRIALS, trials } from "./trials.ts";

const BOTH = ["tcp", "pty"] as const;
const kill = (pid: number, signal: NodeJS.Signals): void => {
  try {
    process.kill(pid, signal);
  } catch {
    // Ended by another of the three, as it should be.
  }
};
const goOn = async ({ pids }: EnergisedProgram): Promise<void> => {
  for (const pid of Object.values(pids)) kill(pid, "SIGCONT");
};

// Limits: this project's own, measured at the simulated instrument.
describe("a process is killed while the board is energised", () => {
  test.each([
    ["daemon", 50],
    ["bench", 100],
    ["guardian", 500],
  ] as const)(
    "the %s process: off within %d ms",
    async (which, limitMs) => {
      await trials({
        row: `kill ${which}`,
        fault: `SIGKILL of the ${which} process`,
        transports: BOTH,
        count: TRIALS,
        limitMs,
        arm:
          ({ pids }) =>
          () =>
            process.kill(pids[which], "SIGKILL"),
      });
    },
    60_000 + 15_000 * TRIALS,
  );
});

describe("a process is stopped while the board is energised", () => {
  test.each([
    ["daemon", 300],
    ["bench", 300],
    ["guardian", 300],
  ] as const)(
    "the %s process: off within %d ms",
    async (which, limitMs) => {
      await trials({
        row: `stop ${which}`,
        fault: `SIGSTOP of the ${which} process`,
        transports: ["tcp"],
        count: Math.max(2, Math.ceil(TRIALS / 10)),
        limitMs,
        arm:
          ({ pids }) =>
          () =>
            process.kill(pids[which], "SIGSTOP"),
        after: goOn,
      });
    },
    60_000 + 5000 * TRIALS,
  );
});

// Side by side, since each waits for its own plan: the watchdog's delay is counted by the supply, the others are held to no time.
describe.concurrent("all three are killed at once, as if the computer had died", () => {
  const killAll = async ({ pids }: EnergisedProgram): Promise<void> => {
    // Stopped first, so that none of them outlives another by a turn.
    for (const pid of Object.values(pids)) kill(pid, "SIGSTOP");
    for (const pid of Object.values(pids)) kill(pid, "SIGKILL");
  };

  test("a supply with a communication watchdog goes off by itself within its delay of 2 s", async () => {
    const program = await energise({ transport: "tcp", watchdog: true });
    try {
      const off = program.offAfter(10_000);
      await killAll(program);
      expect(await off).toBeLessThanOrEqual(2200);
      const switchings = program.simulation.truth().feeds["in12"]?.switchings ?? [];
      expect(switchings.at(-1)).toMatchObject({ output: "off", why: "watchdog" });
    } finally {
      await program.close();
    }
  });

  test("a supply without one stays on, which a person was told before it was energised", async () => {
    const program = await energise({ transport: "tcp", watchdog: false });
    try {
      expect(program.stderr()).toContain("stays on if this computer dies");
      await killAll(program);
      await program.ended;
      expect(program.simulation.truth().feeds["in12"]?.output).toBe("on");
    } finally {
      await program.close();
    }
  });
});

describe.concurrent("what the guardian did", () => {
  test("is told at once where the daemon lives on, and the program ends with 1", async () => {
    const program = await energise({ transport: "tcp" });
    try {
      process.kill(program.pids.bench, "SIGKILL");
      expect(await program.ended).toBe(1);
      expect(program.stderr()).toContain("guardian");
      expect(program.simulation.truth().feeds["in12"]?.output).toBe("off");
    } finally {
      await program.close();
    }
  });

  test("is filed with its job by the next start where nobody was left to read it", async () => {
    const program = await energise({ transport: "tcp" });
    try {
      const off = program.offAfter(10_000);
      kill(program.pids.daemon, "SIGSTOP");
      kill(program.pids.bench, "SIGKILL");
      kill(program.pids.daemon, "SIGKILL");
      await off;
      await program.ended;
      await program.guardianEnded();
      const data = await openDataFolder(program.data);
      try {
        const [job] = await data.store.list();
        const events = await data.store.events(job?.job ?? "");
        const incident = events.map((each) => each.event).find((each) => each.kind === "incident");
        expect(incident).toMatchObject({ output: "off", text: expect.stringContaining("the guardian cut") });
      } finally {
        await data.close();
      }
    } finally {
      await program.close();
    }
  });
});
