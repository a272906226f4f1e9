import type { RecorderChannel, Recording } from "../../shared/files/recorder-entry.ts";
import { LevelTrigger } from "./level-trigger.ts";
import type { MessageUnit } from "./message-units.ts";
import type { Random } from "./random.ts";
import { inputVolts } from "./recorder-signal.ts";
import { numberFrom, ScpiError, ScpiInstrument } from "./scpi-instrument.ts";
import type { SimulatedBoard } from "./simulated-board.ts";

/** Two families: a list for a preamble and words in a block; a query for each number and samples as text. */
export type RecorderDialect = "list-preamble" | "asked-preamble";

export interface SimulatedRecorderOptions {
  dialect: RecorderDialect;
  record: Recording;
  /** Which byte of a word it sends first. */
  order: "high-first" | "low-first";
  board: SimulatedBoard;
  random: Random;
  nowMs: () => number;
  before: (unit: MessageUnit) => boolean;
  identity: () => string | null;
}

const POINTS = 5000;
const USUAL_RANGE_VOLTS = 20;
/** Of full scale. */
const NOISE_SHARE = 0.0005;
const CODES = 65_536;

/** An oscilloscope on a simulated board: it sees what is really there, every step of the physics, and shows it in steps of its range. */
export class SimulatedRecorder {
  readonly scpi: ScpiInstrument;
  readonly #options: SimulatedRecorderOptions;
  readonly #channels: [number, RecorderChannel][];
  readonly #ranges = new Map<number, number>();
  readonly #trigger = new LevelTrigger(0);
  #spanMs = 100;
  /** From the beginning of the record to the trigger. */
  #beforeMs = 50;
  #source = 1;
  #level = 0;
  /** The channel that is read out. */
  #selected = 1;

  constructor(options: SimulatedRecorderOptions) {
    this.#options = options;
    this.#channels = Object.entries(options.record.channels).map(([number, of]) => [Number(number), of]);
    this.scpi = new ScpiInstrument({
      identity: () => options.identity() ?? `Bench,SIM-RECORDER-${options.dialect.toUpperCase()},SN7,1.0`,
      errorQueue: 20,
      joins: true,
      before: options.before,
      reset: () => this.#trigger.reset(),
    });
    if (options.dialect === "list-preamble") this.#addListCommands();
    else this.#addAskedCommands();
    options.board.onStep.add((atMs) => this.#see(atMs));
  }

  #see(atMs: number): void {
    if (this.#trigger.state === "stopped") return;
    const values = this.#channels.map(([, of]) => inputVolts(this.#options.board, of));
    this.#trigger.note(atMs, values, {
      watched: values[this.#channels.findIndex(([number]) => number === this.#source)] ?? 0,
      level: this.#level,
      beforeMs: this.#beforeMs,
      afterMs: this.#spanMs - this.#beforeMs,
    });
  }

  get #stepMs(): number {
    return this.#spanMs / POINTS;
  }

  /** The samples recorded of the span; less where it was stopped early, one point where there is nothing. */
  get #points(): number {
    if (!Number.isFinite(this.#trigger.triggerMs)) return 1;
    const lengthMs = this.#trigger.endMs - (this.#trigger.triggerMs - this.#beforeMs);
    return Math.max(1, Math.min(POINTS, Math.floor(lengthMs / this.#stepMs)));
  }

  #rangeOf(channel: number): number {
    return this.#ranges.get(channel) ?? USUAL_RANGE_VOLTS;
  }

  /** Codes about the middle of the range, cut off at its ends. */
  #codes(): number[] {
    const { random } = this.#options;
    const index = this.#channels.findIndex(([number]) => number === this.#selected);
    const range = this.#rangeOf(this.#selected);
    const volts = this.#trigger.memory.sampled(
      index,
      this.#trigger.triggerMs - this.#beforeMs,
      this.#stepMs,
      this.#points,
    );
    return Array.from(volts, (each) => {
      const noisy = each + NOISE_SHARE * range * random.normal();
      return Math.max(-CODES / 2, Math.min(CODES / 2 - 1, Math.round((noisy / range) * CODES)));
    });
  }

  #channel(number: number | undefined): number {
    if (number === undefined || number < 1 || number > 4) throw new ScpiError(-114, "Header suffix out of range");
    return number;
  }

  #select(parameter: string | undefined): undefined {
    this.#selected = this.#channel(Number(/(\d+)$/.exec(parameter ?? "")?.[1]));
    return undefined;
  }

  #setSource(parameter: string | undefined): undefined {
    this.#source = this.#channel(Number(/(\d+)$/.exec(parameter ?? "")?.[1]));
    return undefined;
  }

  #setLevel(parameter: string | undefined): undefined {
    this.#level = numberFrom(parameter, "V");
    return undefined;
  }

  #nothing(...headers: string[]): void {
    for (const header of headers) this.scpi.on(header, () => undefined);
  }

  #addListCommands(): void {
    const { scpi } = this;
    scpi.on("STOP", () => this.#trigger.stop(this.#options.nowMs()));
    scpi.on("SINGle", () => this.#trigger.run());
    this.#nothing("TRIGger:MODE", "TRIGger:EDGE:SLOPe", "CHANnel#:DISPlay", "CHANnel#:COUPling", "WAVeform:FORMat");
    scpi.on("CHANnel#:RANGe", ({ numbers, parameters }) => {
      this.#ranges.set(this.#channel(numbers[0]), numberFrom(parameters[0], "V"));
      return undefined;
    });
    scpi.on("TIMebase:RANGe", ({ parameters }) => {
      this.#spanMs = 1000 * numberFrom(parameters[0], "S");
      return undefined;
    });
    scpi.on("TIMebase:POSition", ({ parameters }) => {
      this.#beforeMs = this.#spanMs / 2 - 1000 * numberFrom(parameters[0], "S");
      return undefined;
    });
    scpi.on("TRIGger:EDGE:SOURce", ({ parameters }) => this.#setSource(parameters[0]));
    scpi.on("TRIGger:EDGE:LEVel", ({ parameters }) => this.#setLevel(parameters[0]));
    scpi.on("TRIGger:STATus?", () => ({ stopped: "STOP", waiting: "WAIT", triggered: "TD" })[this.#trigger.state]);
    scpi.on("WAVeform:SOURce", ({ parameters }) => this.#select(parameters[0]));
    scpi.on("WAVeform:BYTeorder?", () => (this.#options.order === "high-first" ? "MSBF" : "LSBF"));
    scpi.on("WAVeform:PREamble?", () => {
      const range = this.#rangeOf(this.#selected);
      const x = [this.#stepMs / 1000, -this.#beforeMs / 1000, 0].map((each) => each.toExponential(6));
      return `1,0,${this.#points},1,${x.join(",")},${(range / CODES).toExponential(6)},0,${CODES / 2}`;
    });
    scpi.on("WAVeform:DATA?", () => {
      const codes = this.#codes();
      const bytes = Buffer.alloc(2 * codes.length);
      codes.forEach((code, index) => {
        if (this.#options.order === "high-first") bytes.writeUInt16BE(code + CODES / 2, 2 * index);
        else bytes.writeUInt16LE(code + CODES / 2, 2 * index);
      });
      const length = String(bytes.length);
      return `#${length.length}${length}${bytes.toString("latin1")}`;
    });
  }

  #addAskedCommands(): void {
    const { scpi } = this;
    this.#nothing(
      "HEADer",
      "TRIGger:A:TYPe",
      "TRIGger:A:EDGE:SLOpe",
      "SELect:CH#",
      "CH#:COUPling",
      "DATa:ENCdg",
      "DATa:WIDth",
    );
    this.#nothing("ACQuire:STOPAfter");
    scpi.on("ACQuire:STATE", ({ parameters }) =>
      /^(RUN|ON|1)$/i.test(parameters[0] ?? "") ? this.#trigger.run() : this.#trigger.stop(this.#options.nowMs()),
    );
    scpi.on("CH#:SCAle", ({ numbers, parameters }) => {
      this.#ranges.set(this.#channel(numbers[0]), 8 * numberFrom(parameters[0], "V"));
      return undefined;
    });
    scpi.on("HORizontal:SCAle", ({ parameters }) => {
      this.#spanMs = 10_000 * numberFrom(parameters[0], "S");
      return undefined;
    });
    scpi.on("HORizontal:POSition", ({ parameters }) => {
      this.#beforeMs = (this.#spanMs * numberFrom(parameters[0], "")) / 100;
      return undefined;
    });
    scpi.on("TRIGger:A:EDGE:SOUrce", ({ parameters }) => this.#setSource(parameters[0]));
    scpi.on("TRIGger:A:LEVel", ({ parameters }) => this.#setLevel(parameters[0]));
    scpi.on("TRIGger:STATE?", () => ({ stopped: "SAVE", waiting: "READY", triggered: "TRIGGER" })[this.#trigger.state]);
    scpi.on("DATa:SOUrce", ({ parameters }) => this.#select(parameters[0]));
    scpi.on("WFMOutpre:NR_Pt?", () => String(this.#points));
    scpi.on("WFMOutpre:XINcr?", () => (this.#stepMs / 1000).toExponential(6));
    scpi.on("WFMOutpre:XZEro?", () => (-this.#beforeMs / 1000).toExponential(6));
    scpi.on("WFMOutpre:PT_Off?", () => "0");
    scpi.on("WFMOutpre:YMUlt?", () => (this.#rangeOf(this.#selected) / CODES).toExponential(6));
    scpi.on("WFMOutpre:YZEro?", () => "0.0E0");
    scpi.on("WFMOutpre:YOFf?", () => "0.0E0");
    scpi.on("CURVe?", () => this.#codes().join(","));
  }
}
