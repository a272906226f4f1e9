import { type ChildProcess, spawn } from "node:child_process";
import { once } from "node:events";
import { createInterface } from "node:readline";
import { BenchError } from "../../../shared/bench-error.ts";
import { BenchFile } from "../../../shared/files/bench-file.ts";
import { inProgram } from "../../system/in-program.ts";
import { checkDocument } from "../input/read-document.ts";

export interface SimulationProcess {
  bench: BenchFile;
  /** Puts the simulated probe on a point of the board, or lifts it. */
  probe(point: string | null): void;
  close(): Promise<void>;
}

/** `simulate` in a process of its own, so that nothing it does delays the daemon; its bench file once it is up. */
export async function startSimulationProcess(options: {
  scenario: string;
  dialect: string;
}): Promise<SimulationProcess> {
  const main = inProgram("main.js");
  const child = spawn(
    process.execPath,
    [main, "simulate", "--scenario", options.scenario, "--dialect", options.dialect, "--json"],
    {
      // By the closing of its channel it learns that this program is gone, however it went.
      stdio: ["pipe", "pipe", "ignore", "ipc"],
      // A terminal's Ctrl-C is for the daemon: the simulated supply must be there to be switched off.
      detached: true,
    },
  );
  const line = await firstLine(child);
  if (line === undefined) {
    throw new BenchError(
      "bad-input",
      `Cannot simulate the scenario ${JSON.stringify(options.scenario)}: the simulation ended at once; \`simulate --list\` names the scenarios`,
    );
  }
  return {
    bench: checkDocument({ schema: BenchFile, what: "the simulated bench file", document: JSON.parse(line) }),
    probe: (point) => void child.stdin?.write(point === null ? "lift\n" : `probe ${point.replace(/\s/g, "")}\n`),
    close: async () => {
      if (child.exitCode !== null || child.signalCode !== null) return;
      const gone = once(child, "exit");
      child.kill("SIGTERM");
      await gone;
    },
  };
}

async function firstLine(child: ChildProcess): Promise<string | undefined> {
  if (child.stdout === null) return undefined;
  for await (const line of createInterface({ input: child.stdout })) return line;
  return undefined;
}
