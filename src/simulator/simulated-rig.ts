import type { Clock } from "../../shared/clock.ts";
import type { BoardFile } from "../../shared/files/board-file.ts";
import type { Recording } from "../../shared/files/recorder-entry.ts";
import type { ScenarioFile } from "../../shared/files/scenario-file.ts";
import { History } from "./history.ts";
import { InstrumentPort, type InstrumentPortOptions } from "./instrument-port.ts";
import type { SimulatedInstrument } from "./misbehave-controls.ts";
import { Misbehaviour } from "./misbehaviour.ts";
import { pointOhms } from "./point-ohms.ts";
import { type Random, seededRandom, seedOf } from "./random.ts";
import { SimulatedBoard } from "./simulated-board.ts";
import { SimulatedMeter } from "./simulated-meter.ts";
import { type RecorderDialect, SimulatedRecorder } from "./simulated-recorder.ts";
import { type Dialect, SimulatedSupply } from "./simulated-supply.ts";
import { type FullMeterTraits, type FullSupplyTraits, supplyDefaults } from "./supply-defaults.ts";

export interface SimulatedRigOptions {
  scenario: ScenarioFile;
  boardFile: BoardFile | null;
  dialect: Dialect;
  clock: Clock;
  seed: number;
  traits: FullSupplyTraits;
  meterTraits: FullMeterTraits;
  historyLimit: number | undefined;
  recorder?: RecorderOfRig | undefined;
}

/** A recorder of the rig: what it is on, and how it speaks; or the buffer of the supply or the meter, by that one's own dialect. */
export type RecorderOfRig =
  | {
      dialect: RecorderDialect;
      record: Recording;
      /** Which byte of a word it sends first; the high one where it is not said. */
      order?: "high-first" | "low-first";
    }
  | { inside: "supply" | "meter"; record: Recording };

const RECORDER_LATENCY_MS = 2;

/** The behaviour of an instrument's wire, and the runner of its lines. */
type Port = Pick<
  InstrumentPortOptions,
  "terminator" | "echo" | "gapMs" | "interrupts" | "singleConnection" | "latencyMs" | "run" | "fileError"
>;

/** The instruments and the board of a simulated bench, joined, before anything is on a wire. */
export class SimulatedRig {
  readonly instruments: SimulatedInstrument[] = [];
  readonly board: SimulatedBoard;
  readonly meter: SimulatedMeter;
  readonly history: History;
  readonly bytes = { in: 0, out: 0 };
  /** The readings of a perfect meter, for every point and pair. */
  readonly trueOhms: Record<string, number>;
  readonly #options: SimulatedRigOptions;
  readonly #supplies: SimulatedSupply[] = [];

  constructor(options: SimulatedRigOptions) {
    const { scenario, boardFile, dialect, traits, seed, clock } = options;
    this.#options = options;
    this.history = new History(options.historyLimit);
    const feeds = Object.keys(scenario.feeds);
    // A supply with channels has two at least, so that a bench of one feed still shows how it tells them apart.
    const spares = dialect === "plain" || feeds.length > 1 ? [] : ["spare"];
    this.board = new SimulatedBoard({ scenario, board: boardFile, traits, seed, startMs: clock.nowMs(), spares });
    this.board.onSwitched = (feed, output, why, atMs) =>
      this.history.add({
        atMs,
        instrument: this.#ownerOf(feed),
        kind: "state",
        text: `${feed} output ${output} (${why})`,
      });
    this.trueOhms = pointOhms(scenario, boardFile);
    if (dialect === "plain" && feeds.length > 1) {
      for (const [index, feed] of feeds.entries())
        this.#addSupply(`psu-${feed}`, [feed], { ...traits, serialNumber: `${traits.serialNumber}-${index + 1}` });
    } else this.#addSupply("psu", [...feeds, ...spares], traits);
    this.meter = this.#addMeter("dmm");
    if (options.recorder !== undefined && "dialect" in options.recorder) this.#addRecorder("scope", options.recorder);
  }

  /** The noise of the buffer in this kind of instrument; nothing where it has none. */
  #buffer(kind: "supply" | "meter"): { bufferNoise?: Random } {
    const { recorder, dialect, seed } = this.#options;
    if (recorder === undefined || !("inside" in recorder) || recorder.inside !== kind) return {};
    if (kind === "supply" && dialect !== "channel-list")
      throw new Error("only a simulated supply whose commands end in a channel list has a buffer");
    return { bufferNoise: seededRandom(seedOf(seed, `buffer ${kind}`)) };
  }

  /** Brings the physics up to now, letting a watchdog act at its own time on the way. */
  advance(): void {
    const nowMs = this.#options.clock.nowMs();
    for (const supply of this.#supplies) {
      if (supply.watchdogMs <= nowMs) {
        this.board.advanceTo(supply.watchdogMs);
        supply.tripWatchdog();
      }
    }
    this.board.advanceTo(nowMs);
  }

  /** Files that the state of an instrument changed, and how. */
  note(instrument: string, text: string): void {
    this.history.add({ atMs: this.#options.clock.nowMs(), instrument, kind: "state", text });
  }

  #ownerOf(feed: string): string {
    return this.instruments.find((each) => each.feeds.includes(feed))?.name ?? feed;
  }

  #addSupply(name: string, feeds: string[], traits: FullSupplyTraits): void {
    const { dialect, seed, clock } = this.#options;
    const misbehaviour = new Misbehaviour();
    const model = traits.model === supplyDefaults.model ? `SIM-${dialect.toUpperCase()}` : traits.model;
    const supply = new SimulatedSupply({
      name,
      dialect,
      traits: { ...traits, model },
      board: this.board,
      feeds,
      nowMs: () => clock.nowMs(),
      onChange: (text) => this.note(name, text),
      before: (unit) => misbehaviour.before(unit),
      staysOn: () => misbehaviour.staysOn,
      identity: () => misbehaviour.identity,
      ...this.#buffer("supply"),
    });
    this.#supplies.push(supply);
    const random = seededRandom(seedOf(seed, `latency ${name}`));
    const instrument = this.#addInstrument(name, "supply", misbehaviour, feeds, {
      ...traits,
      latencyMs: () => traits.latencyMs + traits.latencyJitterMs * random.next(),
      run: (line) => supply.run(line),
      fileError: (code, words) => supply.scpi.fileError(code, words),
    });
    instrument.supply = supply;
  }

  #addMeter(name: string): SimulatedMeter {
    const { boardFile, meterTraits, seed, clock } = this.#options;
    const misbehaviour = new Misbehaviour();
    const meter = new SimulatedMeter({
      traits: meterTraits,
      board: this.board,
      boardFile,
      ohms: this.trueOhms,
      diodeVolts: this.#options.scenario.diodeVolts,
      random: seededRandom(seedOf(seed, "meter")),
      nowMs: () => clock.nowMs(),
      before: (unit) => misbehaviour.before(unit),
      identity: () => misbehaviour.identity,
      ...this.#buffer("meter"),
    });
    const random = seededRandom(seedOf(seed, `latency ${name}`));
    const instrument = this.#addInstrument(name, "meter", misbehaviour, [], {
      ...meterTraits,
      interrupts: false,
      singleConnection: false,
      latencyMs: () => meterTraits.readMs + meterTraits.readJitterMs * random.next(),
      run: (line) => meter.scpi.run(line),
      fileError: (code, words) => meter.scpi.fileError(code, words),
    });
    instrument.meter = meter;
    return meter;
  }

  #addRecorder(
    name: string,
    { dialect, record, order = "high-first" }: Extract<RecorderOfRig, { dialect: RecorderDialect }>,
  ): void {
    const { seed, clock } = this.#options;
    const misbehaviour = new Misbehaviour();
    const { scpi } = new SimulatedRecorder({
      dialect,
      record,
      order,
      board: this.board,
      random: seededRandom(seedOf(seed, "recorder")),
      nowMs: () => clock.nowMs(),
      before: (unit) => misbehaviour.before(unit),
      identity: () => misbehaviour.identity,
    });
    this.#addInstrument(name, "recorder", misbehaviour, [], {
      terminator: "\n",
      echo: false,
      gapMs: 0,
      interrupts: false,
      singleConnection: true,
      latencyMs: () => RECORDER_LATENCY_MS,
      run: (line) => scpi.run(line),
      fileError: (code, words) => scpi.fileError(code, words),
    });
  }

  #addInstrument(
    name: string,
    kind: "supply" | "meter" | "recorder",
    misbehaviour: Misbehaviour,
    feeds: string[],
    { terminator, echo, gapMs, interrupts, singleConnection, latencyMs, run, fileError }: Port,
  ): SimulatedInstrument {
    const port = new InstrumentPort({
      name,
      clock: this.#options.clock,
      terminator,
      echo,
      gapMs,
      interrupts,
      singleConnection,
      latencyMs,
      run: (line) => {
        this.advance();
        return run(line);
      },
      fileError,
      misbehaviour,
      history: this.history,
      bytes: this.bytes,
    });
    const instrument: SimulatedInstrument = { name, kind, port, misbehaviour, fileError, feeds };
    this.instruments.push(instrument);
    return instrument;
  }
}
