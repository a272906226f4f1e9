import { channelList } from "./channel-list.ts";
import { LevelTrigger, type TriggerState } from "./level-trigger.ts";
import type { Random } from "./random.ts";
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

const USUAL_POINTS = 1000;
const MOST_POINTS = 4096;
/** Noise of a sample: a share of what is read, and a floor in its unit. */
const NOISE_SHARE = 0.0005;
const NOISE_FLOOR = 0.0005;

/** The buffer of a supply or a meter: samples of what the instrument sees anyway, begun by a level, kept until it is begun anew. */
export class SimulatedBuffer {
  readonly #options: SimulatedBufferOptions;
  readonly #names: string[];
  readonly #trigger = new LevelTrigger();
  #points = USUAL_POINTS;
  #before = 0;
  #stepMs = 0.1;
  #source = "";
  readonly #levels = new Map<string, number>();

  constructor(options: SimulatedBufferOptions) {
    this.#options = options;
    this.#names = Object.keys(options.see());
    options.onStep.add((atMs) => this.#note(atMs));
  }

  get state(): TriggerState {
    return this.#trigger.state;
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
    scpi.on("INITiate:ACQuire", () => this.#trigger.run());
    scpi.on("ABORt:ACQuire", () => this.#trigger.stop(this.#options.nowMs()));
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
    scpi.on("ABORt", () => this.#trigger.stop(this.#options.nowMs()));
    scpi.on("STATus:OPERation:CONDition?", () =>
      String({ stopped: 0, waiting: 32, triggered: 16 }[this.#trigger.state]),
    );
    scpi.on("DATA:REMove?", () => this.#samples(name));
  }

  /** Begins a record of so many samples, which waits for its level. */
  run(points: number): undefined {
    this.#setPoints(points);
    return this.#trigger.run();
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

  get #fromMs(): number {
    return this.#trigger.triggerMs - this.#before * this.#stepMs;
  }

  /** Samples that were taken: fewer where it was stopped early. */
  get #taken(): number {
    if (!Number.isFinite(this.#trigger.triggerMs)) return 0;
    return Math.max(0, Math.min(this.#points, Math.floor((this.#trigger.endMs - this.#fromMs) / this.#stepMs)));
  }

  #note(atMs: number): void {
    if (this.#trigger.state === "stopped") return;
    const seen = this.#options.see();
    const values = this.#names.map((name) => seen[name] ?? 0);
    this.#trigger.note(atMs, values, {
      watched: seen[this.#source] ?? 0,
      level: this.#levels.get(this.#source) ?? Number.POSITIVE_INFINITY,
      beforeMs: this.#before * this.#stepMs,
      afterMs: (this.#points - this.#before) * this.#stepMs,
    });
  }

  #samples(name: string): string {
    const { random } = this.#options;
    if (this.#taken === 0) throw new ScpiError(-230, "Data corrupt or stale");
    const values = this.#trigger.memory.sampled(this.#names.indexOf(name), this.#fromMs, this.#stepMs, this.#taken);
    return Array.from(values, (value) =>
      (value + (NOISE_FLOOR + NOISE_SHARE * Math.abs(value)) * random.normal()).toExponential(6),
    ).join(",");
  }
}
