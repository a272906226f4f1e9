import path from "node:path";
import { BenchError, quoted } from "../../../shared/bench-error.ts";
import { BenchFile } from "../../../shared/files/bench-file.ts";
import type { BoardFile } from "../../../shared/files/board-file.ts";
import type { DriverFile } from "../../../shared/files/driver-file.ts";
import type { FoundLink, SetupFileBody, SetupFinding, SetupView } from "../../../shared/files/setup.ts";
import { RunDesk } from "../../daemon/page/run-desk.ts";
import type { DataFolder } from "../../daemon/process/data-folder.ts";
import { loadDrivers } from "../../instrument/load-drivers.ts";
import { visibleLine } from "../../job/report/visible-text.ts";
import { openLink } from "../../link/open-link.ts";
import { loadScenario, scenarioNames } from "../../simulator/load-scenario.ts";
import { beginSweep } from "../../sweep/begin-sweep.ts";
import { realClock } from "../../system/real-clock.ts";
import type { PageSetup } from "../../wire/setup-desk.ts";
import { readDocument } from "../input/read-document.ts";
import { checkBench } from "../power/check-bench.ts";
import type { DeskInUse } from "../serve/desk-in-use.ts";
import { checkOpenLeads } from "./check-open-leads.ts";
import { candidatesFor, foundLink, lookAt } from "./look-for-instruments.ts";
import { type Rehearsal, startRehearsal } from "./rehearsal.ts";
import { writeBenchFile } from "./write-bench-file.ts";

export interface SetupDeskOptions {
  inUse: DeskInUse;
  data: DataFolder;
  /** The bench file that is in use; undefined: none is, or it came from no file. */
  file: string | undefined;
  /** False where a bench was given when the daemon was started: then there is nothing to set up. */
  mayChange: boolean;
  drivers: DriverFile[];
  board: BoardFile | null;
  boardFile: string | null;
  onTrouble: (sentence: string) => void;
}

const refuse = (because: string): never => {
  throw new BenchError("bad-input", because);
};

/**
 * Sets a bench up for somebody who has none: finds instruments, writes the bench file, checks it, takes it into use, and
 * rehearses on a simulated bench. One thing at a time, and only while no real bench is in use; nothing of it switches a real
 * output on.
 */
export class SetupDesk implements PageSetup {
  readonly #options: SetupDeskOptions;
  /** The desk without a bench; it stays open behind a rehearsal. */
  readonly #home: RunDesk;
  #file: string | undefined;
  #rehearsal: Rehearsal | null = null;
  /** Every desk but the home's that is to be closed at the end. */
  #used: RunDesk | null = null;
  #busy = false;

  constructor(options: SetupDeskOptions) {
    this.#options = options;
    this.#home = options.inUse.desk;
    this.#file = options.file;
  }

  get isRehearsing(): boolean {
    return this.#rehearsal !== null;
  }

  async view(): Promise<SetupView> {
    const { drivers, mayChange } = this.#options;
    const isFree = mayChange && this.#used === null;
    const scenarios = isFree ? await Promise.all((await scenarioNames()).map((name) => loadScenario(name))) : [];
    return {
      bench: !isFree ? "file" : this.#rehearsal === null ? "none" : "rehearsal",
      file: this.#file ?? null,
      proposedFile: path.resolve("bench.json"),
      ports: isFree
        ? (await candidatesFor([], { bench: null })).map(({ address, words }) => ({
            address,
            words: visibleLine(words),
          }))
        : [],
      drivers: drivers.map(({ name, kind, describes }) => ({ name, kind, describes })),
      rehearsals: scenarios
        .filter(({ board }) => board !== null)
        .map(({ name, scenario }) => ({ name, title: scenario.title })),
      coldOhms: this.#rehearsal?.coldOhms ?? {},
    };
  }

  look(address: string): Promise<FoundLink> {
    return this.#alone(async () => {
      const { drivers } = this.#options;
      const [candidate] = await candidatesFor([address], { bench: null, only: true });
      if (candidate === undefined) return refuse(`${quoted(address)} is not the address of an instrument.`);
      return foundLink(await lookAt(candidate, { drivers, own: {} }), candidate.words, drivers);
    });
  }

  write({ file, bench, replace }: SetupFileBody): Promise<string> {
    return this.#alone(async () => {
      checkBench(bench, this.#options.drivers);
      const full = path.resolve(file);
      await writeBenchFile(full, bench, { replace });
      return full;
    });
  }

  check(file: string): Promise<SetupFinding[]> {
    return this.#alone(async () => {
      const { bench, drivers, own } = await benchAt(file);
      return await checkOpenLeads({ bench, drivers, ownDrivers: own, clock: realClock, openLink });
    });
  }

  use(file: string): Promise<void> {
    return this.#alone(async () => {
      if (this.#rehearsal !== null) refuse("A rehearsal is in progress; end it first.");
      const { inUse, data, board, boardFile } = this.#options;
      const full = path.resolve(file);
      const { bench, drivers, own } = await benchAt(full);
      const desk = new RunDesk({
        data,
        bench,
        drivers,
        ownDrivers: own,
        board,
        boardFile,
        simulated: bench.simulated === true,
        beginSweep,
        clock: realClock,
      });
      await desk.open();
      this.#used = desk;
      this.#file = full;
      inUse.put(desk);
      desk.connect();
      await this.#home.close();
    });
  }

  rehearse(scenario: string): Promise<void> {
    return this.#alone(async () => {
      if (this.#rehearsal !== null) refuse("A rehearsal is already in progress.");
      const { inUse, data, drivers, onTrouble } = this.#options;
      this.#rehearsal = await startRehearsal({ scenario, dataDirectory: data.directory, drivers, onTrouble });
      inUse.put(this.#rehearsal.desk);
      this.#rehearsal.desk.connect();
    });
  }

  endRehearsal(): Promise<void> {
    return this.#alone(async () => {
      const rehearsal = this.#rehearsal;
      if (rehearsal === null) return;
      if (rehearsal.desk.isInUse) refuse("The simulated board is on; cut it, or let the run end first.");
      this.#rehearsal = null;
      this.#options.inUse.put(this.#home);
      await rehearsal.close();
    });
  }

  async probe(point: string | null): Promise<void> {
    if (this.#rehearsal === null) refuse("The probe is simulated only in a rehearsal.");
    else this.#rehearsal.probe(point);
  }

  /** Off, then closed: whatever desk there is. */
  async close(): Promise<void> {
    const rehearsal = this.#rehearsal;
    this.#rehearsal = null;
    await rehearsal?.close();
    await this.#used?.close();
    await this.#home.close();
  }

  async #alone<T>(work: () => Promise<T>): Promise<T> {
    if (!this.#options.mayChange || this.#used !== null)
      refuse("A bench is in use. To set up another one, start `firstamp serve` without --bench. Nothing was changed.");
    if (this.#busy) refuse("Another page is setting something up; try again in a moment. Nothing was changed.");
    this.#busy = true;
    try {
      return await work();
    } finally {
      this.#busy = false;
    }
  }
}

/** A bench file with the drivers beside it, checked as `serve --bench` checks it. */
async function benchAt(file: string) {
  const full = path.resolve(file);
  const bench = await readDocument({ schema: BenchFile, what: "bench file", file: full });
  const { drivers, own } = await loadDrivers({ folder: path.dirname(full), bench });
  checkBench(bench, drivers);
  return { bench, drivers, own };
}
