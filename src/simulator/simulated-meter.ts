import type { BoardFile } from "../../shared/files/board-file.ts";
import type { BoardPart } from "../../shared/files/board-groups.ts";
import { channelList } from "./channel-list.ts";
import type { MessageUnit } from "./message-units.ts";
import type { Random } from "./random.ts";
import { numberFrom, ScpiError, ScpiInstrument } from "./scpi-instrument.ts";
import type { SimulatedBoard } from "./simulated-board.ts";
import { SimulatedBuffer } from "./simulated-buffer.ts";
import type { FullMeterTraits } from "./supply-defaults.ts";

type Quantity = "volts" | "ohms" | "four-wire ohms" | "diode";

export interface SimulatedMeterOptions {
  traits: FullMeterTraits;
  board: SimulatedBoard;
  boardFile: BoardFile | null;
  /** Cold ohms of each point and pair. */
  ohms: Record<string, number>;
  /** Diode volts where the board file does not say. */
  diodeVolts: Record<string, number>;
  random: Random;
  nowMs: () => number;
  before: (unit: MessageUnit) => boolean;
  identity: () => string | null;
  /** Noise of its buffer; left out: it has none. */
  bufferNoise?: Random;
}

const overload = 9.9e37;
/** More than this on the point, and ohms or diode mode answer nonsense: an overload. */
const liveVolts = 0.1;
/** Nobody's point: the two tips held together. */
const tipsTogether = "shorted";
/** A range takes a fifth more than its name (common practice, no source). */
const overRange = 1.2;
/** The longest time that the point's capacitors take to charge from a milliamp. */
const slowestSettleMs = 1500;

const functionNames: Record<Quantity, string> = { volts: "VOLT", ohms: "RES", "four-wire ohms": "FRES", diode: "DIOD" };

/** A bench meter behind its commands, its probe on a point of the board or lifted. */
export class SimulatedMeter {
  readonly scpi: ScpiInstrument;
  private readonly options: SimulatedMeterOptions;
  private quantity: Quantity = "volts";
  private samples = 1;
  private trigger = "IMM";
  private buffer: SimulatedBuffer | null = null;
  private reading: string | null = null;
  private point: string | null = null;
  private touchedMs = 0;
  /** The greatest value each function's range holds; absent, it ranges by itself. */
  private readonly ranges = new Map<Quantity, number | undefined>();
  private readonly settings = new Map<string, string>();

  constructor(options: SimulatedMeterOptions) {
    this.options = options;
    const { traits } = options;
    this.scpi = new ScpiInstrument({
      identity: () => options.identity() ?? `${traits.maker},${traits.model},${traits.serialNumber},${traits.version}`,
      errorQueue: traits.errorQueue,
      joins: true,
      before: options.before,
      reset: () => this.reset(),
    });
    this.addCommands();
    if (options.bufferNoise !== undefined) this.addBuffer(options.bufferNoise);
  }

  /** Samples of the volts where the probe is. */
  private addBuffer(random: Random): void {
    const { board, nowMs } = this.options;
    const point = (): string | null => (this.point === tipsTogether ? null : this.point);
    this.buffer = new SimulatedBuffer({
      scpi: this.scpi,
      random,
      nowMs,
      onStep: board.onStep,
      see: () => ({ volts: this.voltsAcross(point() ?? "") }),
    });
    this.buffer.addMeterWords();
  }

  /** Mains off and on: the settings are those of power-on, and the status says so. */
  powerCycle(): void {
    this.reset();
    this.scpi.powerOn();
  }

  private reset(): void {
    this.quantity = "volts";
    this.samples = 1;
    this.trigger = "IMM";
    this.ranges.clear();
    this.settings.clear();
  }

  /** Puts the probe on a point ("core"), between two ("aux:core"), tip on tip ("shorted"), or lifts it (null). Throws on a point that is not there. */
  probe(point: string | null): void {
    const isThere = (name: string): boolean =>
      name === tipsTogether ||
      Object.hasOwn(this.options.ohms, name) ||
      Object.hasOwn(this.options.boardFile?.across ?? {}, name) ||
      this.options.board.voltsAt(name) !== undefined;
    if (point !== null && !isThere(point)) {
      throw new Error(`the simulated board has no point ${JSON.stringify(point)}`);
    }
    this.point = point;
    this.touchedMs = this.options.nowMs();
  }

  private addCommands(): void {
    const quantities: [string, Quantity][] = [
      ["[:SCALar]:VOLTage[:DC]", "volts"],
      ["[:SCALar]:RESistance", "ohms"],
      ["[:SCALar]:FRESistance", "four-wire ohms"],
      ["[:SCALar]:DIODe", "diode"],
    ];
    for (const [header, quantity] of quantities) {
      this.scpi.on(`MEASure${header}?`, ({ parameters }) => {
        this.quantity = quantity;
        const list = parameters.at(-1);
        if (list?.startsWith("("))
          return channelList(list)
            .map((channel) => this.scan(channel))
            .join(",");
        this.ranges.set(quantity, rangeFrom(parameters[0]));
        return this.take();
      });
      this.scpi.on(`CONFigure${header}`, ({ parameters }) => {
        this.quantity = quantity;
        this.ranges.set(quantity, rangeFrom(parameters[0]));
        return undefined;
      });
    }
    this.scpi.on("CONFigure?", () => `"${functionNames[this.quantity]} +1.000000E+01,+1.000000E-05"`);
    this.scpi.on("[SENSe]:FUNCtion[:ON]?", () => `"${functionNames[this.quantity]}"`);
    this.scpi.on("READ?", () => this.takeAll());
    this.scpi.on("INITiate[:IMMediate]", () => {
      if (this.trigger === "INT") return this.buffer?.run(this.samples);
      this.reading = this.takeAll();
      return undefined;
    });
    this.scpi.on("FETCh?", () => {
      if (this.reading === null) throw new ScpiError(-230, "Data corrupt or stale");
      return this.reading;
    });
    this.scpi.on("SAMPle:COUNt", ({ parameters }) => {
      const count = numberFrom(parameters[0], "");
      if (!Number.isInteger(count) || count < 1 || count > 1000) throw new ScpiError(-222, "Data out of range");
      this.samples = count;
      return undefined;
    });
    this.scpi.on("SAMPle:COUNt?", () => String(this.samples));
    this.scpi.on("TRIGger:SOURce", ({ parameters }) => {
      const word = (parameters[0] ?? "").toUpperCase();
      if (!/^(IMM|IMMEDIATE|BUS|EXT|EXTERNAL|INT|INTERNAL)$/.test(word))
        throw new ScpiError(-224, "Illegal parameter value");
      this.trigger = word.slice(0, 3);
      return undefined;
    });
    this.scpi.on("TRIGger:SOURce?", () => this.trigger);
    for (const header of ["VOLTage[:DC]", "RESistance", "FRESistance"]) {
      for (const tail of ["NPLCycles", "RANGe", "RANGe:AUTO"]) {
        const key = `${header}:${tail}`;
        this.scpi.on(`[SENSe]:${key}`, ({ parameters }) => {
          this.settings.set(key, parameters[0] ?? "");
          return undefined;
        });
        this.scpi.on(
          `[SENSe]:${key}?`,
          () => this.settings.get(key) ?? (tail === "NPLCycles" ? "1" : tail === "RANGe" ? "10" : "1"),
        );
      }
    }
    for (const header of ["SYSTem:REMote", "SYSTem:LOCal", "SYSTem:RWLock"]) this.scpi.on(header, () => undefined);
  }

  private takeAll(): string {
    return Array.from({ length: this.samples }, () => this.take()).join(",");
  }

  private scan(channel: number): string {
    const point = this.options.traits.scanner[String(channel)];
    if (point === undefined) throw new ScpiError(-222, "Data out of range");
    return format(this.measure(point, Number.POSITIVE_INFINITY));
  }

  private take(): string {
    const value = this.measure(this.point, this.options.nowMs() - this.touchedMs);
    const range = this.ranges.get(this.quantity) ?? Number.POSITIVE_INFINITY;
    return format(Math.abs(value) > overRange * range ? Math.sign(value) * overload : value);
  }

  private measure(point: string | null, touchedForMs: number): number {
    const { board, traits, random } = this.options;
    board.advanceTo(this.options.nowMs());
    const noise = traits.noiseVolts * random.normal();
    if (this.quantity === "volts") {
      if (point === null || point === tipsTogether) return noise;
      return this.voltsAcross(point) * -Math.expm1(-touchedForMs / Math.max(1e-6, traits.settleMs)) + noise;
    }
    if (point === tipsTogether) return this.shorted(noise);
    if (point === null || Math.abs(this.voltsAcross(point)) > liveVolts) return overload;
    const real = this.options.ohms[point];
    if (this.quantity === "diode") return this.diode(point, real) + noise;
    if (real === undefined || real > 1e8) return overload;
    const settleMs = Math.max(traits.settleMs, Math.min(slowestSettleMs, real));
    const seen = real * -Math.expm1(-touchedForMs / settleMs) * (1 + traits.noiseOhmsShare * random.normal());
    return seen + (this.quantity === "ohms" ? traits.leadOhms : 0);
  }

  private shorted(noise: number): number {
    const { traits, random } = this.options;
    if (this.quantity === "diode") return noise;
    const contact = 0.002 * random.normal();
    return (this.quantity === "ohms" ? traits.leadOhms : 0) + contact;
  }

  private voltsAcross(point: string): number {
    const part = this.options.boardFile?.across?.[point];
    if (part !== undefined) return this.voltsOverPart(part);
    const [from = "", to] = point.split(":");
    const { board } = this.options;
    return (board.voltsAt(from) ?? 0) - (to === undefined ? 0 : (board.voltsAt(to) ?? 0));
  }

  /** The parts of a rail share its current by their conductances. */
  private voltsOverPart({ rail }: BoardPart): number {
    const { board, boardFile } = this.options;
    const parts = Object.values(boardFile?.across ?? {}).filter((each) => each.rail === rail);
    return board.ampsInto(rail) / parts.reduce((sum, each) => sum + 1 / each.ohms, 0);
  }

  /** One milliamp from ground into the point: the chip's diodes, or the short across them. */
  private diode(point: string, real: number | undefined): number {
    const span = this.options.boardFile?.rails[point]?.diodeVolts;
    const healthy = this.options.diodeVolts[point] ?? (span === undefined ? 0.45 : (span[0] + span[1]) / 2);
    return Math.min(healthy, (real ?? 1e6) * 0.001);
  }
}

/** The range, a decade, that holds what `CONF:VOLT 5` asks for; DEF, AUTO, MIN and MAX, or nothing: it ranges by itself. */
function rangeFrom(parameter: string | undefined): number | undefined {
  if (parameter === undefined || /^(DEF|AUTO|MIN|MAX)/i.test(parameter)) return undefined;
  return 10 ** Math.ceil(Math.log10(Math.max(0.1, numberFrom(parameter, ""))));
}

const format = (value: number): string => {
  const [mantissa = "0", exponent = "0"] = Math.abs(value).toExponential(8).split("e");
  const power = Number(exponent);
  return `${value < 0 ? "-" : "+"}${mantissa}E${power < 0 ? "-" : "+"}${String(Math.abs(power)).padStart(2, "0")}`;
};
