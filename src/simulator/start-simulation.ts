import type { Clock } from "../../shared/clock.ts";
import type { BenchFile } from "../../shared/files/bench-file.ts";
import type { BoardFile } from "../../shared/files/board-file.ts";
import type { ScenarioFile } from "../../shared/files/scenario-file.ts";
import type { MeterTraits, SupplyTraits } from "../../shared/files/supply-traits.ts";
import type { HistoryEntry } from "./history.ts";
import { loadScenario } from "./load-scenario.ts";
import { type Misbehave, misbehaveControls } from "./misbehave-controls.ts";
import { serveInstruments } from "./serve-instruments.ts";
import { simulatedBenchFile } from "./simulated-bench-file.ts";
import { type RecorderOfRig, SimulatedRig } from "./simulated-rig.ts";
import type { Dialect } from "./simulated-supply.ts";
import { meterDefaults, supplyDefaults } from "./supply-defaults.ts";
import type { Truth } from "./truth.ts";

export interface SimulationOptions {
  /** A shipped scenario's name, a path, or a scenario with its board in full. */
  scenario: string | ScenarioFile;
  dialect: Dialect;
  transport: "tcp" | "pty";
  clock: Clock;
  /** Of all noise; default 1. */
  seed?: number;
  /** Laid over the scenario's own traits. */
  traits?: SupplyTraits;
  meterTraits?: MeterTraits;
  /** A recorder on the bench, "scope"; left out: none. */
  recorder?: RecorderOfRig;
  /** Entries the history keeps; default 100,000. */
  historyLimit?: number;
}

export interface Simulation {
  benchFile: BenchFile;
  /** Absent for an unknown board. */
  boardFile?: BoardFile;
  scenario: ScenarioFile;
  /** Cold readings a technician would have typed in. */
  coldOhms: Record<string, number>;
  /** The readings of a perfect meter, for every point and pair. */
  trueOhms: Record<string, number>;
  /** The true events up to now. */
  truth(): Truth;
  history(): HistoryEntry[];
  misbehave: Misbehave;
  /** Puts the meter's probe on a point or a pair ("aux:core"), or lifts it. */
  probe(point: string | null): void;
  /** The board's true volts at a feed or rail now. */
  voltsAt(point: string): number | undefined;
  /** Totals over all instruments, seen from their side. */
  readonly bytes: { readonly in: number; readonly out: number };
  close(): Promise<void>;
}

/**
 * Starts a simulated bench: supplies, a meter and a board, on real sockets of this machine or on pseudo terminals made
 * by socat. Physics are worked out when something asks, up to the clock's time. A plain dialect knows no channels, so
 * each feed then has a supply of its own. Throws BenchError "bad-input" for a scenario that is not one.
 */
export async function startSimulation(options: SimulationOptions): Promise<Simulation> {
  const { clock, dialect, transport, seed = 1 } = options;
  const { scenario, board: boardFile } = await resolveScenario(options.scenario);
  const traits = { ...supplyDefaults, ...scenario.supply, ...options.traits };
  const meterTraits = { ...meterDefaults, ...scenario.meter, ...options.meterTraits };
  const rig = new SimulatedRig({
    scenario,
    boardFile,
    dialect,
    clock,
    seed,
    traits,
    meterTraits,
    historyLimit: options.historyLimit,
    recorder: options.recorder,
  });
  const { board, meter, instruments } = rig;
  const { addresses, close } = await serveInstruments(instruments, transport);
  const upToNow = <T>(look: () => T): T => {
    rig.advance();
    return look();
  };
  return {
    benchFile: simulatedBenchFile({
      instruments,
      addresses,
      scenario,
      traits,
      scanner: meterTraits.scanner,
      recorder: options.recorder,
    }),
    ...(boardFile === null ? {} : { boardFile }),
    scenario,
    coldOhms: scenario.coldOhms,
    trueOhms: rig.trueOhms,
    truth: () => upToNow(() => board.truth()),
    history: () => rig.history.list(),
    misbehave: misbehaveControls({
      instruments,
      board,
      advance: () => rig.advance(),
      note: (instrument, text) => rig.note(instrument, text),
      cyclesEndLinks: transport === "tcp",
    }),
    probe: (point) => upToNow(() => meter.probe(point)),
    voltsAt: (point) => upToNow(() => board.voltsAt(point)),
    bytes: rig.bytes,
    close,
  };
}

async function resolveScenario(
  scenario: string | ScenarioFile,
): Promise<{ scenario: ScenarioFile; board: BoardFile | null }> {
  if (typeof scenario === "string") return loadScenario(scenario);
  if (typeof scenario.board === "string")
    throw new Error("a scenario handed over as an object holds its board in full");
  return { scenario, board: scenario.board ?? null };
}
