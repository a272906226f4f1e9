import type { BenchFile } from "../../shared/bench-file.ts";
import type { BoardFile } from "../../shared/board-file.ts";
import type { Clock } from "../../shared/clock.ts";
import type { ScenarioFile } from "../../shared/scenario-file.ts";
import type { MeterTraits, SupplyTraits } from "../../shared/supply-traits.ts";
import { History, type HistoryEntry } from "./history.ts";
import { InstrumentPort } from "./instrument-port.ts";
import { loadScenario } from "./load-scenario.ts";
import { type Misbehave, misbehaveControls, type SimulatedInstrument } from "./misbehave-controls.ts";
import { Misbehaviour } from "./misbehaviour.ts";
import { pointOhms } from "./point-ohms.ts";
import { seededRandom, seedOf } from "./random.ts";
import { servePty } from "./serve-pty.ts";
import { serveSocket } from "./serve-socket.ts";
import { simulatedBenchFile } from "./simulated-bench-file.ts";
import { SimulatedBoard } from "./simulated-board.ts";
import { SimulatedMeter } from "./simulated-meter.ts";
import { type Dialect, SimulatedSupply } from "./simulated-supply.ts";
import { openSocatPty, type SocatPty } from "./socat-pty.ts";
import { type FullSupplyTraits, meterDefaults, supplyDefaults } from "./supply-defaults.ts";
import type { Truth } from "./truth.ts";
import type { ServedPort, ServeWire } from "./wire.ts";

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
  /** What a perfect meter would find, every point and pair. */
  trueOhms: Record<string, number>;
  /** What really happened up to now. */
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
  const traits: FullSupplyTraits = { ...supplyDefaults, ...scenario.supply, ...options.traits };
  const meterTraits = { ...meterDefaults, ...scenario.meter, ...options.meterTraits };
  const history = new History(options.historyLimit);
  const bytes = { in: 0, out: 0 };
  const feedNames = Object.keys(scenario.feeds);
  // A supply with channels has two at least, so that a bench of one feed still shows how it tells them apart.
  const spares = dialect === "plain" || feedNames.length > 1 ? [] : ["spare"];
  const board = new SimulatedBoard({ scenario, board: boardFile, traits, seed, startMs: clock.nowMs(), spares });
  const trueOhms = pointOhms(scenario, boardFile);
  const instruments: SimulatedInstrument[] = [];
  const ports: ServedPort[] = [];
  const pairs: SocatPty[] = [];
  const supplies: SimulatedSupply[] = [];
  const ownerOf = (feed: string): string => instruments.find((each) => each.feeds.includes(feed))?.name ?? feed;
  board.onSwitched = (feed, output, why, atMs) =>
    history.add({ atMs, instrument: ownerOf(feed), kind: "state", text: `${feed} output ${output} (${why})` });

  /** Brings the physics up to now, letting a watchdog act at its own time on the way. */
  const advance = (): void => {
    const nowMs = clock.nowMs();
    for (const supply of supplies) {
      if (supply.watchdogMs <= nowMs) {
        board.advanceTo(supply.watchdogMs);
        supply.tripWatchdog();
      }
    }
    board.advanceTo(nowMs);
  };

  const addPort = (
    name: string,
    kind: "supply" | "meter",
    wire: {
      terminator: string;
      echo: boolean;
      gapMs: number;
      interrupts: boolean;
      singleConnection: boolean;
      latencyMs: () => number;
    },
    run: (line: string) => string | null,
    fileError: (code: number, words: string) => void,
    misbehaviour: Misbehaviour,
    feeds: string[],
  ): SimulatedInstrument => {
    const port = new InstrumentPort({
      name,
      clock,
      ...wire,
      run: (line) => {
        advance();
        return run(line);
      },
      fileError,
      misbehaviour,
      history,
      bytes,
    });
    const instrument: SimulatedInstrument = { name, kind, port, misbehaviour, fileError, feeds };
    instruments.push(instrument);
    return instrument;
  };

  const groups: [string, string[]][] =
    dialect === "plain" && feedNames.length > 1
      ? feedNames.map((feed) => [`psu-${feed}`, [feed]])
      : [["psu", [...feedNames, ...spares]]];
  groups.forEach(([name, feeds], index) => {
    const misbehaviour = new Misbehaviour();
    const own: FullSupplyTraits =
      groups.length > 1 ? { ...traits, serialNumber: `${traits.serialNumber}-${index + 1}` } : traits;
    const supply = new SimulatedSupply({
      name,
      dialect,
      traits: { ...own, model: own.model === supplyDefaults.model ? `SIM-${dialect.toUpperCase()}` : own.model },
      board,
      feeds,
      nowMs: () => clock.nowMs(),
      onChange: (text) => history.add({ atMs: clock.nowMs(), instrument: name, kind: "state", text }),
      before: (unit) => misbehaviour.before(unit),
      staysOn: () => misbehaviour.staysOn,
      identity: () => misbehaviour.identity,
    });
    supplies.push(supply);
    const random = seededRandom(seedOf(seed, `latency ${name}`));
    const instrument = addPort(
      name,
      "supply",
      { ...own, latencyMs: () => own.latencyMs + own.latencyJitterMs * random.next() },
      (line) => supply.run(line),
      (code, words) => supply.scpi.fileError(code, words),
      misbehaviour,
      feeds,
    );
    instrument.supply = supply;
  });

  const meterMisbehaviour = new Misbehaviour();
  const meter = new SimulatedMeter({
    traits: meterTraits,
    board,
    boardFile,
    ohms: trueOhms,
    random: seededRandom(seedOf(seed, "meter")),
    nowMs: () => clock.nowMs(),
    before: (unit) => meterMisbehaviour.before(unit),
    identity: () => meterMisbehaviour.identity,
  });
  const meterRandom = seededRandom(seedOf(seed, "latency dmm"));
  const meterInstrument = addPort(
    "dmm",
    "meter",
    {
      terminator: meterTraits.terminator,
      echo: meterTraits.echo,
      gapMs: meterTraits.gapMs,
      interrupts: false,
      singleConnection: false,
      latencyMs: () => meterTraits.readMs + meterTraits.readJitterMs * meterRandom.next(),
    },
    (line) => meter.scpi.run(line),
    (code, words) => meter.scpi.fileError(code, words),
    meterMisbehaviour,
    [],
  );
  meterInstrument.meter = meter;

  const close = async (): Promise<void> => {
    for (const instrument of instruments) instrument.port.close();
    await Promise.all(ports.map((port) => port.close()));
    await Promise.all(pairs.map((pair) => pair.close()));
  };
  const addresses = new Map<string, string>();
  try {
    for (const instrument of instruments) {
      const serve: ServeWire = (wire) => instrument.port.serve(wire);
      let served: ServedPort;
      if (transport === "tcp") served = await serveSocket(serve);
      else {
        const pair = await openSocatPty();
        pairs.push(pair);
        served = servePty(serve, pair);
      }
      ports.push(served);
      addresses.set(instrument.name, served.address);
    }
  } catch (cause) {
    await close();
    throw cause;
  }

  const misbehave = misbehaveControls({
    instruments,
    board,
    advance,
    note: (instrument, text) => history.add({ atMs: clock.nowMs(), instrument, kind: "state", text }),
    cyclesEndLinks: transport === "tcp",
  });

  return {
    benchFile: simulatedBenchFile({ instruments, addresses, scenario, traits, scanner: meterTraits.scanner }),
    ...(boardFile === null ? {} : { boardFile }),
    scenario,
    coldOhms: scenario.coldOhms,
    trueOhms,
    truth: () => {
      advance();
      return board.truth();
    },
    history: () => history.list(),
    misbehave,
    probe: (point) => {
      advance();
      meter.probe(point);
    },
    voltsAt: (point) => {
      advance();
      return board.voltsAt(point);
    },
    bytes,
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
