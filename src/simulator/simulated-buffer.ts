import { channelList } from "./channel-list.ts";
import type { Random } from "./random.ts";
import { SignalMemory } from "./recorder-signal.ts";
import { numberFrom, ScpiError, type ScpiInstrument } from "./scpi-instrument.ts";

export interface SimulatedBufferOptions {
  scpi: ScpiInstrument;
  random: Random;
  nowMs: () => number;
  /** The signals that the instrument sees now, by their names; always the same names. */
  see: () => Record<string, number>;
  /** Told of each step of the physics. */
  onStep: Set<(atMs: number) => void>;
}

type State = "stopped" | "waiting" | "triggered";

const USUAL_POINTS = 1000;
const MOST_POINTS = 4096;
/** Noise of a sample: a share of what is read, and a floor in its unit. */
const NOISE_SHARE = 0.0005;
const NOISE_FLOOR = 0.0005;

/** The buffer of a supply or a meter: samples of what the instrument sees anyway, begun by a level, kept until it is begun anew. */
export class SimulatedBuffer {
  readonly #options: SimulatedBufferOptions;
  readonly #names: string[];
  #memory = new SignalMemory();
  #state: State = "stopped";
  #points = USUAL_POINTS;
  #before = 0;
  #stepMs = 0.1;
  #source = "";
  readonly #levels = new Map<string, number>();
  #last: number | null = null;
  #triggerMs = Number.POSITIVE_INFINITY;
  #endMs = 0;

  constructor(options: SimulatedBufferOptions) {
    this.#options = options;
    this.#names = Object.keys(options.see());
    options.onStep.add((atMs) => this.#note(atMs));
  }

  get state(): State {
    return this.#state;
  }

  /** The words of a supply: what is meant stands in a channel list at the end. `nameOf` is the signal of a quantity and a channel. */
  addSupplyWords(nameOf: (quantity: "VOLT" | "CURR", channel: number) => string): void {
    const { scpi } = this.#options;
    const listed = (parameters: readonly string[]): number => channelList(parameters.at(-1) ?? "")[0] ?? 1;
    const set = (pattern: string, take: (value: number, channel: number) => void): void =>
      scpi.on(pattern, ({ parameters }) => {
        take(numberFrom(parameters[0], ""), listed(parameters));
        return undefined;
      });
    set("[SENSe]:SWEep:POINts", (value) => this.#setPoints(value));
    scpi.on("[SENSe]:SWEep:POINts?", () => String(this.#taken));
    set("[SENSe]:SWEep:TINTerval", (value) => this.#setStep(value));
    scpi.on("[SENSe]:SWEep:TINTerval?", () => (this.#stepMs / 1000).toExponential(6));
    // Samples before the trigger count below zero.
    set("[SENSe]:SWEep:OFFSet:POINts", (value) => this.#setBefore(-value));
    scpi.on("TRIGger:ACQuire:SOURce", ({ parameters }) => {
      const [, quantity = "", channel = ""] = /^(VOLT|CURR)(\d+)$/i.exec(parameters[0] ?? "") ?? [];
      if (quantity === "") throw new ScpiError(-224, "Illegal parameter value");
      this.#source = nameOf(quantity.toUpperCase() as "VOLT" | "CURR", Number(channel));
      return undefined;
    });
    for (const [header, quantity] of [["VOLTage", "VOLT"] as const, ["CURRent", "CURR"] as const]) {
      set(`TRIGger:ACQuire:${header}[:LEVel]`, (value, channel) => this.#levels.set(nameOf(quantity, channel), value));
      scpi.on(`FETCh:ARRay:${header}?`, ({ parameters }) => this.#samples(nameOf(quantity, listed(parameters))));
    }
    scpi.on("INITiate:ACQuire", () => this.#run());
    scpi.on("ABORt:ACQuire", () => this.#stop());
  }

  /** The words of a meter, which has one signal. */
  addMeterWords(): void {
    const { scpi } = this.#options;
    const name = this.#names[0] ?? "";
    const set = (pattern: string, take: (value: number) => void): void =>
      scpi.on(pattern, ({ parameters }) => {
        take(numberFrom(parameters[0], ""));
        return undefined;
      });
    set("SAMPle:COUNt:PRETrigger", (value) => this.#setBefore(value));
    set("SAMPle:TIMer", (value) => this.#setStep(value));
    scpi.on("SAMPle:TIMer?", () => (this.#stepMs / 1000).toExponential(6));
    scpi.on("SAMPle:SOURce", () => undefined);
    scpi.on("TRIGger:SLOPe", () => undefined);
    set("TRIGger:LEVel", (value) => {
      this.#source = name;
      this.#levels.set(name, value);
    });
    scpi.on("DATA:POINts?", () => String(this.#taken));
    scpi.on("ABORt", () => this.#stop());
    scpi.on("STATus:OPERation:CONDition?", () => String({ stopped: 0, waiting: 32, triggered: 16 }[this.#state]));
    scpi.on("DATA:REMove?", () => this.#samples(name));
  }

  /** Begins a record of so many samples, which waits for its level. */
  run(points: number): undefined {
    this.#setPoints(points);
    return this.#run();
  }

  #setPoints(points: number): void {
    if (!Number.isInteger(points) || points < 1 || points > MOST_POINTS) throw new ScpiError(-222, "Data out of range");
    this.#points = points;
  }

  #setStep(seconds: number): void {
    if (!(seconds >= 1e-6 && seconds <= 1)) throw new ScpiError(-222, "Data out of range");
    this.#stepMs = 1000 * seconds;
  }

  #setBefore(points: number): void {
    if (points < 0 || points > this.#points) throw new ScpiError(-222, "Data out of range");
    this.#before = points;
  }

  #run(): undefined {
    this.#memory = new SignalMemory();
    this.#state = "waiting";
    this.#last = null;
    this.#triggerMs = Number.POSITIVE_INFINITY;
    return undefined;
  }

  #stop(): undefined {
    if (this.#state === "triggered") this.#endMs = this.#options.nowMs();
    this.#state = "stopped";
    return undefined;
  }

  get #fromMs(): number {
    return this.#triggerMs - this.#before * this.#stepMs;
  }

  /** Samples that were taken: fewer where it was stopped early. */
  get #taken(): number {
    if (!Number.isFinite(this.#triggerMs)) return 0;
    return Math.max(0, Math.min(this.#points, Math.floor((this.#endMs - this.#fromMs) / this.#stepMs)));
  }

  #note(atMs: number): void {
    if (this.#state === "stopped") return;
    const seen = this.#options.see();
    this.#memory.note(
      atMs,
      this.#names.map((name) => seen[name] ?? 0),
    );
    if (this.#state === "triggered") {
      if (atMs >= this.#endMs) this.#state = "stopped";
      return;
    }
    const now = seen[this.#source] ?? 0;
    const level = this.#levels.get(this.#source) ?? Number.POSITIVE_INFINITY;
    if (this.#last !== null && this.#last < level && now >= level) {
      this.#state = "triggered";
      this.#triggerMs = atMs;
      this.#endMs = atMs + (this.#points - this.#before) * this.#stepMs;
    } else this.#memory.forgetBefore(atMs - this.#before * this.#stepMs);
    this.#last = now;
  }

  #samples(name: string): string {
    const { random } = this.#options;
    if (this.#taken === 0) throw new ScpiError(-230, "Data corrupt or stale");
    const values = this.#memory.sampled(this.#names.indexOf(name), this.#fromMs, this.#stepMs, this.#taken);
    return Array.from(values, (value) =>
      (value + (NOISE_FLOOR + NOISE_SHARE * Math.abs(value)) * random.normal()).toExponential(6),
    ).join(",");
  }
}
