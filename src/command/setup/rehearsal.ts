import path from "node:path";
import type { DriverFile } from "../../../shared/files/driver-file.ts";
import { RunDesk } from "../../daemon/page/run-desk.ts";
import { type DataFolder, openDataFolder } from "../../daemon/process/data-folder.ts";
import { loadScenario } from "../../simulator/load-scenario.ts";
import { beginSweep } from "../../sweep/begin-sweep.ts";
import { realClock } from "../../system/real-clock.ts";
import { startSimulationProcess } from "../serve/simulation-process.ts";

/** A simulated bench with a desk and a record of its own. */
export interface Rehearsal {
  desk: RunDesk;
  /** The cold readings of the board, as a technician would type it in. */
  coldOhms: Record<string, number>;
  probe(point: string | null): void;
  /** Off first, then the simulated instruments, then the record. */
  close(): Promise<void>;
}

/**
 * Starts a simulated bench on this machine's loopback, and a desk on it. Its jobs go into the folder `demonstration` of the
 * data directory: what is rehearsed never stands among the jobs of real boards. Throws BenchError "bad-input" for a scenario
 * that is none, and what opening the folder throws.
 */
export async function startRehearsal(options: {
  scenario: string;
  dataDirectory: string;
  drivers: DriverFile[];
  onTrouble: (sentence: string) => void;
}): Promise<Rehearsal> {
  const { scenario: name, dataDirectory, drivers, onTrouble } = options;
  const { scenario, board } = await loadScenario(name);
  const data = await openDataFolder(path.join(dataDirectory, "demonstration"), { onTrouble });
  const undo: (() => Promise<void>)[] = [() => data.close()];
  const undoAll = async (): Promise<void> => {
    for (const step of undo.splice(0).reverse()) await step();
  };
  try {
    const simulation = await startSimulationProcess({ scenario: name, dialect: "numbered" });
    undo.push(() => simulation.close());
    await fileExample(data, board?.name ?? "Kestrel K2");
    const desk = new RunDesk({
      data,
      bench: simulation.bench,
      drivers,
      board,
      boardFile: null,
      simulated: true,
      beginSweep,
      clock: realClock,
    });
    undo.push(() => desk.close());
    await desk.open();
    return { desk, coldOhms: scenario.coldOhms, probe: simulation.probe, close: undoAll };
  } catch (cause) {
    await undoAll();
    throw cause;
  }
}

const TITLE = "Kestrel K2, no picture";

/** The job of Tern Street Electronics (both are invented) that a newcomer is shown; filed once. */
async function fileExample({ store }: DataFolder, board: string): Promise<void> {
  if ((await store.list()).some((each) => each.title === TITLE)) return;
  const job = await store.newJob({ title: TITLE, board });
  await store.appendEvent(job, {
    kind: "intake",
    owner: "Tern Street Electronics",
    symptom: "fans start, no picture",
    ownersWords: "It went dark while I was working and has not come back.",
    cameWith: "the card with its cooler, no cables",
  });
}
