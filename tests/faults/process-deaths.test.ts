import { readFile } from "node:fs/promises";
import path from "node:path";
import { describe, expect, test } from "vitest";
import { energise } from "./energised-program.ts";

const TRIALS = Number(process.env["FIRSTAMP_TRIALS"] ?? 20);
const SIDE_BY_SIDE = 2;

const percentile = (values: readonly number[], share: number): number => {
  const sorted = values.toSorted((a, b) => a - b);
  return sorted[Math.min(sorted.length - 1, Math.ceil(share * sorted.length) - 1)] ?? Number.NaN;
};

/** Runs all trials, a few side by side, and answers with the time each took from the fault to off at the instrument. */
async function offTimes(
  transport: "tcp" | "pty",
  fault: (pids: { daemon: number; bench: number; guardian: number }) => void,
): Promise<number[]> {
  const times: number[] = [];
  let left = TRIALS / 2;
  const worker = async (): Promise<void> => {
    while (left > 0) {
      left -= 1;
      const program = await energise({ transport });
      try {
        const off = program.offAfter(10_000);
        fault(program.pids);
        times.push(await off);
      } finally {
        await program.close();
      }
    }
  };
  await Promise.all(Array.from({ length: SIDE_BY_SIDE }, worker));
  return times;
}

// Limits: project's own (docs/faults.md rows 14, 15, 17), measured at the simulated instrument.
describe.each(["tcp", "pty"] as const)("over %s", (transport) => {
  test("a killed daemon leaves the output off within 50 ms", async () => {
    const times = await offTimes(transport, ({ daemon }) => process.kill(daemon, "SIGKILL"));
    expect(percentile(times, 0.5), String(times)).toBeLessThanOrEqual(50);
    expect(times.length).toBe(TRIALS / 2);
  });
  test("a killed bench process leaves the output off within 100 ms, by the guardian", async () => {
    const times = await offTimes(transport, ({ bench }) => process.kill(bench, "SIGKILL"));
    expect(percentile(times, 0.5), String(times)).toBeLessThanOrEqual(100);
    expect(times.length).toBe(TRIALS / 2);
  });
  test("a killed guardian ends the run with the output off within 500 ms", async () => {
    const times = await offTimes(transport, ({ guardian }) => process.kill(guardian, "SIGKILL"));
    expect(Math.max(...times), String(times)).toBeLessThanOrEqual(500);
    expect(times.length).toBe(TRIALS / 2);
  });
});

test("a stopped daemon, a stopped bench process and a stopped guardian each leave the output off", async () => {
  for (const which of ["daemon", "bench", "guardian"] as const) {
    const program = await energise({ transport: "tcp" });
    try {
      const off = program.offAfter(5000);
      process.kill(program.pids[which], "SIGSTOP");
      // 300 ms by the project's own limit for daemon and bench, twice that on a machine shared with other work.
      expect(await off, which).toBeLessThanOrEqual(which === "guardian" ? 1000 : 600);
    } finally {
      for (const pid of Object.values(program.pids)) {
        try {
          process.kill(pid, "SIGCONT");
        } catch {
          // It was ended by another, as it should be.
        }
      }
      await program.close();
    }
  }
});

test("the guardian's cut is an incident that the daemon files with the run", async () => {
  const program = await energise({ transport: "tcp" });
  try {
    process.kill(program.pids.bench, "SIGKILL");
    expect(await program.ended).toBe(1);
    expect(program.stderr()).toContain("guardian");
    const log = await readFile(path.join(program.directory, "data", "run", ".."), "utf8").catch(() => "");
    expect(log).toBe("");
    expect(program.simulation.truth().feeds["in12"]?.output).toBe("off");
  } finally {
    await program.close();
  }
});
