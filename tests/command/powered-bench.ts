import { readFileSync } from "node:fs";
import type { ScenarioFile } from "../../shared/files/scenario-file.ts";
import type { RunDocument } from "../../src/daemon/run/run-document.ts";
import { loadScenario } from "../../src/simulator/load-scenario.ts";
import { type Simulation, type SimulationOptions, startSimulation } from "../../src/simulator/start-simulation.ts";
import { realClock } from "../../src/system/real-clock.ts";
import { noteRun } from "../note-run.ts";
import { type RunningProgram, startProgram, type TestFolder, testFolder } from "./run-program.ts";

/**
 * The time a supply takes to answer where its scenario gives none, milliseconds: what `firstamp simulate` takes. One that answers in no time
 * is asked without end, and a run takes two fifths more of the processor.
 */
const ANSWER_MS = 8;

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
  /** A shipped scenario's name, or one with its board in full. */
  scenario: string | ScenarioFile;
  transport?: "tcp" | "pty";
  dialect?: "plain" | "numbered";
  /** Whether the scenario's cold readings are typed in; default true. */
  typesColdOhms?: boolean;
  recorder?: SimulationOptions["recorder"];
}): Promise<PoweredBench> {
  const { scenario, transport = "tcp", dialect = "numbered" } = options;
  const { supply } = typeof scenario === "string" ? (await loadScenario(scenario)).scenario : scenario;
  const simulation = await startSimulation({
    scenario,
    traits: { latencyMs: supply.latencyMs ?? ANSWER_MS, latencyJitterMs: supply.latencyJitterMs ?? ANSWER_MS / 4 },
    transport,
    dialect,
    clock: realClock,
    ...(options.recorder === undefined ? {} : { recorder: options.recorder }),
  });
  const folder = await testFolder();
  const bench = await folder.write("bench.json", simulation.benchFile);
  const board =
    simulation.boardFile === undefined ? [] : ["--board", await folder.write("board.json", simulation.boardFile)];
  const { host, fans } = simulation.scenario.conditions;
  const args = [
    ...["--bench", bench, ...board, "--data", `${folder.path}/data`],
    ...Object.entries(options.typesColdOhms === false ? {} : simulation.coldOhms).flatMap(([point, ohms]) => [
      "--ohms",
      `${point}=${ohms}`,
    ]),
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

/** Looks each millisecond until something is so at the simulated bench; the test's own time limit ends a wait in vain. */
export async function untilTrue(isSo: () => boolean): Promise<void> {
  while (!isSo()) await new Promise<void>((resolve) => setTimeout(resolve, 1));
}

/** Rules by which a bench that is too slow, not the board, ends a run: this machine had no time for it. */
const TOO_SLOW = new Set(
  JSON.parse(readFileSync(new URL("../../tools/too-slow.json", import.meta.url), "utf8")) as string[],
);

/** Whether a run ended because this machine was too busy for it, or before the test could do what it is about. */
export const wasTooSlow = (trip: { rule: string } | null, hasReached: boolean): boolean =>
  trip !== null && (TOO_SLOW.has(trip.rule) || !hasReached);

/** Does a run in real time again, three times at most, where the machine was too busy for it; other ends are answered at once. */
export async function despiteBusyMachine<T>(
  run: () => Promise<T>,
  wasTooBusy: (result: T) => string | null,
): Promise<T> {
  for (let left = 3; ; left--) {
    const result = await run();
    const why = wasTooBusy(result);
    if (left === 0 || why === null) {
      noteRun(null);
      return result;
    }
    noteRun(why);
  }
}

/**
 * A run with `--json` to its end, for a test of what a run says and leaves. A run whose trip says nothing of the board is done again: on a
 * busy machine the program's own limits, such as 500 ms without a reading, end it.
 */
export const endedInTime = <T extends { out: string }>(run: () => Promise<T>): Promise<T> =>
  despiteBusyMachine(run, ({ out }) => {
    const trip = out === "" ? null : (JSON.parse(out) as RunDocument).trip;
    return trip === null || trip.board ? null : trip.because;
  });
