import type { BenchFile, InstrumentEntry } from "../../shared/bench-file.ts";
import type { BoardFile } from "../../shared/board-file.ts";
import type { Clock } from "../../shared/clock.ts";
import type { ScenarioFile } from "../../shared/scenario-file.ts";
import type { MeterTraits, SupplyTraits } from "../../shared/supply-traits.ts";
import { History, type HistoryEntry } from "./history.ts";
import { InstrumentPort } from "./instrument-port.ts";
import { loadScenario } from "./load-scenario.ts";
import { Misbehaviour, type Pick } from "./misbehaviour.ts";
import { pointOhms } from "./point-ohms.ts";
import { seededRandom, seedOf } from "./random.ts";
import type { ReplyFault } from "./reply-fault.ts";
import { servePty } from "./serve-pty.ts";
import { serveSocket } from "./serve-socket.ts";
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

/** What can be done to a simulated instrument, by its name in the bench file. */
export interface Misbehave {
  /** Strikes replies on their way out; the answer calls it off. */
  replies(instrument: string, pick: Pick, fault: ReplyFault): () => void;
  /** Runs commands and answers nothing, until called with false. */
  stall(instrument: string, on: boolean): void;
  /** Bytes (Latin-1) nobody asked for. */
  blurt(instrument: string, bytes: string): void;
  /** Another identity; null for the true one. */
  identity(instrument: string, identity: string | null): void;
  /** Refuses commands whose header matches, with an error; the answer calls it off. */
  refuse(instrument: string, pattern: RegExp, code?: number, words?: string): () => void;
  /** Silently does nothing for settings whose header matches. */
  ignore(instrument: string, pattern: RegExp): () => void;
  /** The output cannot be switched off. */
  stayOn(instrument: string, on: boolean): void;
  /** Answers the same readings for ever. */
  freeze(instrument: string, on: boolean): void;
  /** Someone's hand on the front panel. */
  frontPanel(feed: string, change: { output?: "on" | "off"; volts?: number; limitAmps?: number }): void;
  /** Mains off and on; connections of a socket end. */
  powerCycle(instrument: string): void;
  /** Settings fall back to the power-on state without a word, connections live on. */
  reboot(instrument: string): void;
  /** Ends all connections of an instrument. */
  dropLink(instrument: string, how: "end" | "reset"): void;
  /** Fills the error queue. */
  errors(instrument: string, entries: readonly { code: number; words: string }[]): void;
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

interface Instrument {
  name: string;
  kind: "supply" | "meter";
  port: InstrumentPort;
  misbehaviour: Misbehaviour;
  supply?: SimulatedSupply;
  fileError: (code: number, words: string) => void;
  feeds: string[];
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
  const board = new SimulatedBoard({ scenario, board: boardFile, traits, seed, startMs: clock.nowMs() });
  const trueOhms = pointOhms(scenario, boardFile);
  const instruments: Instrument[] = [];
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
    wire: { terminator: string; echo: boolean; gapMs: number; interrupts: boolean; singleConnection: boolean; latencyMs: () => number },
    run: (line: string) => string | null,
    fileError: (code: number, words: string) => void,
    misbehaviour: Misbehaviour,
    feeds: string[],
  ): Instrument => {
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
    const instrument: Instrument = { name, kind, port, misbehaviour, fileError, feeds };
    instruments.push(instrument);
    return instrument;
  };

  const feedNames = Object.keys(scenario.feeds);
  const groups: [string, string[]][] =
    dialect === "plain" && feedNames.length > 1 ? feedNames.map((feed) => [`psu-${feed}`, [feed]]) : [["psu", feedNames]];
  groups.forEach(([name, feeds], index) => {
    const misbehaviour = new Misbehaviour();
    const own: FullSupplyTraits = groups.length > 1 ? { ...traits, serialNumber: `${traits.serialNumber}-${index + 1}` } : traits;
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
  addPort(
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

  const find = (name: string): Instrument => {
    const found = instruments.find((each) => each.name === name);
    if (found === undefined) throw new Error(`the simulated bench has no instrument ${JSON.stringify(name)}`);
    return found;
  };
  const feedOf = (feed: string) => {
    advance();
    return board.feed(feed);
  };
  const note = (instrument: string, text: string): void => history.add({ atMs: clock.nowMs(), instrument, kind: "state", text });

  const misbehave: Misbehave = {
    replies: (name, pick, fault) => find(name).misbehaviour.onReplies(pick, fault),
    stall: (name, on) => {
      find(name).misbehaviour.stalled = on;
    },
    blurt: (name, text) => find(name).port.blurt(text),
    identity: (name, identity) => {
      find(name).misbehaviour.identity = identity;
    },
    refuse: (name, pattern, code, words) => find(name).misbehaviour.refuse(pattern, code, words),
    ignore: (name, pattern) => find(name).misbehaviour.ignore(pattern),
    stayOn: (name, on) => {
      find(name).misbehaviour.staysOn = on;
    },
    freeze: (name, on) => {
      advance();
      for (const feed of find(name).feeds) board.feed(feed).readBack.frozen = on;
    },
    frontPanel: (feed, change) => {
      const { stage } = feedOf(feed);
      if (change.volts !== undefined) stage.setVolts = change.volts;
      if (change.limitAmps !== undefined) stage.limitAmps = change.limitAmps;
      board.settingsChanged(feed);
      if (change.output !== undefined) board.switchOutput(feed, change.output, "front panel");
      note(ownerOf(feed), `${feed} front panel ${JSON.stringify(change)}`);
    },
    powerCycle: (name) => {
      advance();
      const { supply, port } = find(name);
      port.forget();
      supply?.powerCycle();
      if (transport === "tcp") port.drop("reset");
      note(name, "power cycle");
    },
    reboot: (name) => {
      advance();
      find(name).supply?.powerCycle();
      note(name, "reboot");
    },
    dropLink: (name, how) => find(name).port.drop(how),
    errors: (name, entries) => {
      for (const { code, words } of entries) find(name).fileError(code, words);
    },
  };

  return {
    benchFile: benchFileOf(instruments, addresses, scenario, traits),
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

async function resolveScenario(scenario: string | ScenarioFile): Promise<{ scenario: ScenarioFile; board: BoardFile | null }> {
  if (typeof scenario === "string") return loadScenario(scenario);
  if (typeof scenario.board === "string") throw new Error("a scenario handed over as an object holds its board in full");
  return { scenario, board: scenario.board ?? null };
}

/** The bench file that names these instruments and feeds. */
function benchFileOf(
  instruments: readonly Instrument[],
  addresses: ReadonlyMap<string, string>,
  scenario: ScenarioFile,
  traits: FullSupplyTraits,
): BenchFile {
  const entries: Record<string, InstrumentEntry> = {};
  const feeds: BenchFile["feeds"] = {};
  for (const { name, kind, feeds: names } of instruments) {
    entries[name] = {
      kind,
      address: addresses.get(name) ?? "",
      driver: "auto",
      ...(kind === "supply"
        ? { accuracy: { voltsShare: 0.001, voltsOffset: 3 * traits.stepVolts, ampsShare: 0.002, ampsOffset: 2 * traits.stepAmps } }
        : {}),
    };
    names.forEach((feed, index) => {
      feeds[feed] = {
        supply: name,
        channel: index + 1,
        leadOhms: scenario.feeds[feed]?.leadOhms ?? 0.05,
        sense: "local",
        readsAtSense: false,
      };
    });
  }
  return { version: 1, instruments: entries, feeds, meter: "dmm" };
}
