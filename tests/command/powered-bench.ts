import { realClock } from "../../src/link/real-clock.ts";
import { type Simulation, startSimulation } from "../../src/simulator/start-simulation.ts";
import { type RunningProgram, startProgram, type TestFolder, testFolder } from "./run-program.ts";

/** A simulated bench in this process, in real time, with its files written for the program to read. */
export interface PoweredBench {
  simulation: Simulation;
  folder: TestFolder;
  /** Options of a power-up on it: files, a data directory of its own, everything stated, `--watch 1`. */
  args: string[];
  powerup(...more: string[]): RunningProgram;
  close(): Promise<void>;
}

export async function poweredBench(options: {
  scenario: string;
  transport?: "tcp" | "pty";
  dialect?: "plain" | "numbered";
}): Promise<PoweredBench> {
  const { scenario, transport = "tcp", dialect = "numbered" } = options;
  const simulation = await startSimulation({ scenario, transport, dialect, clock: realClock });
  const folder = await testFolder();
  const bench = await folder.write("bench.json", simulation.benchFile);
  const board =
    simulation.boardFile === undefined ? [] : ["--board", await folder.write("board.json", simulation.boardFile)];
  const { host, fans } = simulation.scenario.conditions;
  const args = [
    ...["--bench", bench, ...board, "--data", `${folder.path}/data`],
    ...Object.entries(simulation.coldOhms).flatMap(([point, ohms]) => ["--ohms", `${point}=${ohms}`]),
    ...(host === undefined ? [] : ["--host", host]),
    ...(fans === undefined ? [] : ["--fans", fans]),
    ...["--cooler", "cooler", "--checked", "polarity,return,sideband,unplugged", "--watch", "1"],
  ];
  return {
    simulation,
    folder,
    args,
    powerup: (...more) => startProgram(["powerup", ...args, ...more]),
    close: async () => {
      await simulation.close();
      await folder.remove();
    },
  };
}

/** How often an output was on, by the simulator's own account: nothing the program says stands between. */
export const timesOn = (simulation: Simulation): number =>
  Object.values(simulation.truth().feeds)
    .flatMap((each) => each.switchings)
    .filter((each) => each.output === "on").length;

/** Whether any output is on now, by the simulator's own account. */
export const isOn = (simulation: Simulation): boolean =>
  Object.values(simulation.truth().feeds).some((each) => each.output === "on");

/** Rules by which a bench that is too slow, not the board, ends a run: this machine had no time for it. */
const TOO_SLOW = new Set(["silent", "stale", "command-failed", "clock-gap", "lease-lost", "guardian-lost"]);

/** Does a run in real time again, twice at most, where the machine was too busy for it; other ends are answered at once. */
export async function despiteBusyMachine<T extends { trip: { rule: string } | null }>(
  run: () => Promise<T>,
): Promise<T> {
  for (let left = 2; ; left--) {
    const result = await run();
    if (left === 0 || result.trip === null || !TOO_SLOW.has(result.trip.rule)) return result;
    process.stdout.write(`done again, the machine was busy: ${JSON.stringify(result.trip)}\n`);
  }
}
