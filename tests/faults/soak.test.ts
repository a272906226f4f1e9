import { readFile } from "node:fs/promises";
import { expect, test } from "vitest";
import { despiteBusyMachine } from "../command/powered-bench.ts";
import { energise } from "./energised-program.ts";
import { keepTable } from "./fault-report.ts";
import { insideOf } from "./inspector.ts";

/** Half a minute; half an hour by `npm run soak:long`. */
const SECONDS = Number(process.env["FIRSTAMP_SOAK_SECONDS"] ?? 30);
/** The first seconds are the watch with its verdict: memory is compared from then on. */
const SETTLED_MS = Math.max(15_000, SECONDS * 100);
/** The first soak, and those in place of one that the machine had no time for. */
const MOST_SOAKS = 4;
const MIB = 1024 * 1024;
const SLACK_BYTES = { daemon: 12 * MIB, bench: 2 * MIB, guardian: 1 * MIB };
const after = (ms: number): Promise<void> => new Promise((resolve) => setTimeout(resolve, ms));
const residentMiB = async (pid: number): Promise<number> =>
  Number(/VmRSS:\s+(\d+) kB/.exec(await readFile(`/proc/${pid}/status`, "utf8"))?.[1]) / 1024;

/** Rules that end a soak where the simulated supply, which is in this test's own process, or the machine had no time. A missed beat is none of them. */
const NO_TIME = ["silent", "stale", "command-failed", "link-lost", "clock-gap"];

/** Answers with why a soak ended early where the machine had no time for it, null where it came to its end. Throws on every other end. */
async function soak(): Promise<string | null> {
  const program = await energise({ transport: "tcp", latencyMs: 1, holdSeconds: SECONDS + 600 });
  const { simulation, pids } = program;
  const which = ["daemon", "bench", "guardian"] as const;
  const inside = await Promise.all(which.map((each) => insideOf(pids[each])));
  const held = async (): Promise<void> => {
    const heaps = async (): Promise<number[]> => {
      const found: number[] = [];
      for (const each of inside) found.push(await each.keptBytes());
      return found;
    };
    await after(SETTLED_MS);
    const before = await heaps();
    await after(Math.max(0, SECONDS * 1000 - SETTLED_MS));
    const now = await heaps();
    const truth = simulation.truth().feeds["in12"];
    const growth = Object.fromEntries(which.map((each, index) => [each, (now[index] ?? 0) - (before[index] ?? 0)]));
    const resident = Object.fromEntries(
      await Promise.all(which.map(async (each) => [each, Math.round(await residentMiB(pids[each]))] as const)),
    );
    keepTable("soak", {
      seconds: SECONDS,
      growthBytes: growth,
      residentMiB: resident,
      load: (await readFile("/proc/loadavg", "utf8")).split(" ")[0],
    });
    process.stdout.write(
      `soak of ${SECONDS} s: growth ${JSON.stringify(growth)} bytes, resident ${JSON.stringify(resident)} MiB\n`,
    );
    expect(truth?.output, program.stderr()).toBe("on");
    // Touch, hold-low and the rise, and no off since.
    expect(truth?.switchings.at(-1)?.output).toBe("on");
    expect(growth["bench"]).toBeLessThan(SLACK_BYTES.bench);
    expect(growth["guardian"]).toBeLessThan(SLACK_BYTES.guardian);
    expect(growth["daemon"]).toBeLessThan(SLACK_BYTES.daemon);
  };
  // A process does not end while somebody looks into it.
  const leave = (): void => {
    for (const each of inside) each.leave();
  };
  let look: NodeJS.Timeout | undefined;
  const isOff = new Promise<"off">((resolve) => {
    look = setInterval(() => simulation.truth().feeds["in12"]?.output === "on" || resolve("off"), 100);
  });
  try {
    const hold = held();
    // It fails where the program ends meanwhile; why the program ended is then what counts.
    hold.catch(() => undefined);
    if ((await Promise.race([hold, isOff])) === "off") {
      leave();
      const end = await program.ended;
      const trip = await program.trip();
      if (trip !== null && NO_TIME.includes(trip.rule) && SECONDS <= 30) return trip.because;
      throw new Error(`the program ended (${end}): ${trip?.because ?? "without a trip"}: ${program.stderr()}`);
    }
    clearInterval(look);
    const off = program.offAfter(10_000);
    process.kill(pids.daemon, "SIGTERM");
    expect(await off).toBeLessThan(1000);
    return null;
  } finally {
    clearInterval(look);
    leave();
    await program.close();
  }
}

test(
  `energised for ${SECONDS} s at full rate: nothing grows, no beat is missed`,
  async () => {
    expect(await despiteBusyMachine(soak, (why) => why)).toBeNull();
  },
  120_000 + MOST_SOAKS * 1000 * SECONDS,
);
