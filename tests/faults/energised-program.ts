import { type ChildProcess, spawn } from "node:child_process";
import { mkdtemp, readFile, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import path from "node:path";
import { fileURLToPath } from "node:url";
import type { Trip } from "../../shared/plan.ts";
import { messageOf } from "../../shared/words/message-of.ts";
import { openJobStore } from "../../src/job/store/open-job-store.ts";
import { type Simulation, startSimulation } from "../../src/simulator/start-simulation.ts";
import { realClock } from "../../src/system/real-clock.ts";
import { mustHaveNoGuardian } from "../end-guardians.ts";
import { noteRun } from "../note-run.ts";

const main = fileURLToPath(new URL("../../dist/src/main.js", import.meta.url));

/** The program as in production, its three processes, with a simulated board energised at nominal. */
export interface EnergisedProgram {
  simulation: Simulation;
  pids: { daemon: number; bench: number; guardian: number };
  directory: string;
  stderr: () => string;
  /** Where its record is. */
  data: string;
  /** The exit code of the daemon, or the signal it died by. */
  ended: Promise<number | string>;
  /** Answers, once the program has ended, with the trip that its record has of the run. */
  trip: () => Promise<Trip | null>;
  /** Milliseconds from now until the output is off at the instrument; throws after `withinMs`. */
  offAfter(withinMs: number): Promise<number>;
  /** Settles when the guardian has ended, having left its incident. */
  guardianEnded(): Promise<void>;
  /** Ends the program by its own way off. */
  close(): Promise<void>;
  /** Ends what is left of it at once; for when its off was seen. */
  kill(): Promise<void>;
}

async function commandLine(pid: string): Promise<string> {
  return (await readFile(`/proc/${pid}/cmdline`, "latin1").catch(() => "")).replaceAll("\0", " ");
}

async function childNamed(parent: number, part: string): Promise<number | undefined> {
  const children = await readFile(`/proc/${parent}/task/${parent}/children`, "latin1").catch(() => "");
  for (const pid of children.split(" ").filter((each) => each !== "")) {
    if ((await commandLine(pid)).includes(part)) return Number(pid);
  }
  return undefined;
}

async function until<T>(what: string, ask: () => Promise<T | undefined> | T | undefined, withinMs: number): Promise<T> {
  const untilMs = performance.now() + withinMs;
  for (;;) {
    const found = await ask();
    if (found !== undefined) return found;
    if (performance.now() > untilMs) throw new Error(`${what} did not come within ${withinMs} ms`);
    await new Promise((resolve) => setTimeout(resolve, 5));
  }
}

/** Answers with the trip of the run in a record; null where nothing tripped, or nothing was filed. */
async function tripIn(data: string): Promise<Trip | null> {
  const store = await openJobStore(data, { readOnly: true }).catch(() => null);
  if (store === null) return null;
  try {
    for (const { job } of await store.list())
      for (const { event } of await store.events(job)) if (event.kind === "run-ended") return event.end.outcome.trip;
    return null;
  } finally {
    await store.close();
  }
}

interface EnergiseOptions {
  transport: "tcp" | "pty";
  /** A data directory that is kept from one program to the next; default one of its own. */
  data?: string;
  latencyMs?: number;
  watchdog?: boolean;
  /** Held on for so long at most, in place of a watch of 600 s. */
  holdSeconds?: number;
}

/** Starts a simulated bench and the program on it, and waits until the board is at nominal; on a busy machine, again. */
export async function energise(options: EnergiseOptions): Promise<EnergisedProgram> {
  for (let left = 2; ; left--) {
    try {
      const program = await energiseOnce(options);
      noteRun(null);
      return program;
    } catch (cause) {
      if (left === 0) throw cause;
      noteRun(`energised again: ${messageOf(cause).split("\n")[0]}`);
    }
  }
}

async function energiseOnce(options: EnergiseOptions): Promise<EnergisedProgram> {
  const directory = await mkdtemp(path.join(tmpdir(), "firstamp-fault-"));
  const simulation = await startSimulation({
    scenario: "single-feed",
    dialect: "numbered",
    transport: options.transport,
    clock: realClock,
    traits: { latencyMs: options.latencyMs ?? 3, watchdog: options.watchdog ?? false },
  });
  const bench = path.join(directory, "bench.json");
  const board = path.join(directory, "board.json");
  await writeFile(bench, JSON.stringify(simulation.benchFile));
  const hold = options.holdSeconds;
  const maxOnSeconds = hold === undefined ? {} : { maxOnSeconds: { cooler: hold } };
  await writeFile(board, JSON.stringify({ ...simulation.boardFile, ...maxOnSeconds }));
  const data = options.data ?? path.join(directory, "data");
  const child: ChildProcess = spawn(
    process.execPath,
    [
      main,
      "powerup",
      "--json",
      "--bench",
      bench,
      "--board",
      board,
      "--data",
      data,
      "--waive",
      "a test",
      "--cooler",
      "cooler",
      ...(hold === undefined ? ["--watch", "600"] : ["--watch", "5", "--keep-on"]),
    ],
    {
      stdio: ["ignore", "ignore", "pipe"],
      // A group of its own, as a terminal gives it; a debugger may be opened on any free port.
      detached: true,
      env: { ...process.env, NODE_OPTIONS: "--inspect-port=0" },
    },
  );
  let stderr = "";
  child.stderr?.setEncoding("utf8").on("data", (text: string) => {
    stderr += text;
  });
  const ended = new Promise<number | string>((resolve) =>
    child.on("exit", (code, signal) => resolve(code ?? signal ?? "")),
  );
  const close = async (): Promise<void> => {
    if (child.exitCode === null && child.signalCode === null) {
      child.kill("SIGTERM");
      const late = setTimeout(() => child.kill("SIGKILL"), 15_000);
      await ended;
      clearTimeout(late);
    }
    await simulation.close();
    await mustHaveNoGuardian(data);
    await rm(directory, { recursive: true, force: true });
  };
  try {
    await until(
      "nominal",
      async () => {
        if (child.exitCode !== null || child.signalCode !== null)
          throw new Error(`the program ended: ${(await tripIn(data))?.because ?? "without a trip"}`);
        return (simulation.truth().feeds["in12"]?.boardVolts ?? 0) > 11.5 ? true : undefined;
      },
      30_000,
    );
    const daemon = child.pid ?? -1;
    const benchPid = await until("the bench process", () => childNamed(daemon, "bench/main.js"), 2000);
    const guardian = await until("the guardian", () => childNamed(benchPid, "guardian/main.js"), 2000);
    return {
      simulation,
      directory,
      data,
      pids: { daemon, bench: benchPid, guardian },
      stderr: () => stderr,
      ended,
      trip: () => tripIn(data),
      offAfter: async (withinMs) => {
        const startedMs = realClock.nowMs();
        return until(
          "off",
          () => {
            const off = simulation
              .truth()
              .feeds["in12"]?.switchings.find((each) => each.output === "off" && each.atMs >= startedMs);
            return off === undefined ? undefined : off.atMs - startedMs;
          },
          withinMs,
        );
      },
      guardianEnded: async () => {
        await until(
          "the guardian's end",
          async () => ((await commandLine(String(guardian))) === "" ? true : undefined),
          10_000,
        );
      },
      close,
      kill: async () => {
        for (const pid of [daemon, benchPid]) {
          try {
            process.kill(pid, "SIGKILL");
          } catch {
            // It had ended by itself.
          }
        }
        // The guardian ends by itself, having left its incident.
        await until(
          "the guardian's end",
          async () => ((await commandLine(String(guardian))) === "" ? true : undefined),
          20_000,
        );
        await close();
      },
    };
  } catch (cause) {
    await close();
    throw new Error(`${messageOf(cause)}; the program said: ${stderr}`);
  }
}
