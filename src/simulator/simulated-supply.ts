import { channelList } from "./channel-list.ts";
import { CommunicationWatchdog } from "./communication-watchdog.ts";
import type { MessageUnit } from "./message-units.ts";
import type { OutputStage } from "./output-stage.ts";
import type { Random } from "./random.ts";
import { booleanFrom, type Call, numberFrom, ScpiError, ScpiInstrument } from "./scpi-instrument.ts";
import type { SimulatedBoard, SimulatedFeed } from "./simulated-board.ts";
import { SimulatedBuffer } from "./simulated-buffer.ts";
import type { FullSupplyTraits } from "./supply-defaults.ts";

/** The ways in which supplies are told which channel is meant. */
export const dialects = ["plain", "selection", "channel-list", "numbered"] as const;
export type Dialect = (typeof dialects)[number];

export interface SimulatedSupplyOptions {
  name: string;
  dialect: Dialect;
  traits: FullSupplyTraits;
  board: SimulatedBoard;
  /** The feed each channel's leads go to; channel 1 first. */
  feeds: readonly string[];
  nowMs: () => number;
  /** Every change of a setting, for the history. */
  onChange: (what: string) => void;
  before: (unit: MessageUnit) => boolean;
  /** Wants OFF, stays on: a stuck relay. */
  staysOn: () => boolean;
  /** The answer of `*IDN?` in place of the truth. */
  identity: () => string | null;
  /** Noise of its buffer; left out: it has none. Only a supply whose commands end in a channel list has one. */
  bufferNoise?: Random;
}

/** Acquisition waits for its trigger; it is triggered and goes on (from memory). */
const ACQUISITION_BITS = { stopped: 0, waiting: 8, triggered: 16 };

/** A bench supply behind its commands. */
export class SimulatedSupply {
  readonly scpi: ScpiInstrument;
  private readonly options: SimulatedSupplyOptions;
  private selected = 0;
  private remote: boolean;
  private readonly watchdog: CommunicationWatchdog;
  private buffer: SimulatedBuffer | null = null;

  constructor(options: SimulatedSupplyOptions) {
    this.options = options;
    const { traits } = options;
    this.remote = !traits.needsRemote;
    this.watchdog = new CommunicationWatchdog(options.nowMs);
    this.scpi = new ScpiInstrument({
      identity: () => options.identity() ?? `${traits.maker},${traits.model},${traits.serialNumber},${traits.version}`,
      errorQueue: traits.errorQueue,
      joins: traits.joins,
      before: (unit) => {
        this.refuseUnlessRemote(unit);
        return options.before(unit);
      },
      reset: () => {
        this.eachFeed(({ stage }, name) => {
          this.off(name, "*RST");
          stage.reset();
        });
        this.selected = 0;
        this.watchdog.reset();
      },
    });
    this.addCommands();
    if (options.bufferNoise !== undefined) this.addBuffer(options.bufferNoise);
    if (traits.powerOnOutput === "on") {
      this.eachFeed(({ stage }, name) => {
        stage.setVolts = 0;
        options.board.switchOutput(name, "on", "power on");
      });
    }
  }

  /** Runs a line; any line at all feeds the communication watchdog. */
  run(line: string): string | null {
    this.watchdog.heard();
    return this.scpi.run(line);
  }

  /** When the watchdog will act if nothing is heard, simulation ms; Infinity when it is off. */
  get watchdogMs(): number {
    return this.watchdog.dueMs;
  }

  tripWatchdog(): void {
    this.watchdog.tripped = true;
    this.eachFeed(({ stage }, name) => {
      if (!stage.on) return;
      stage.wasOn = true;
      stage.tripped = "watchdog";
      this.options.board.switchOutput(name, "off", "watchdog");
    });
  }

  /** Mains off and on again: settings are gone; the output does what the trait says. */
  powerCycle(): void {
    const { traits, board } = this.options;
    this.eachFeed(({ stage }, name) => {
      const was = { on: stage.on, volts: stage.setVolts, amps: stage.limitAmps };
      board.switchOutput(name, "off", "power cycle");
      stage.reset();
      if (traits.powerOnOutput === "off") return;
      if (traits.powerOnOutput === "last") {
        stage.setVolts = was.volts;
        stage.limitAmps = was.amps;
        if (!was.on) return;
      }
      board.switchOutput(name, "on", "power on");
    });
    this.remote = !traits.needsRemote;
    this.selected = 0;
    this.watchdog.reset();
    this.scpi.powerOn();
  }

  private eachFeed(run: (feed: SimulatedFeed, name: string) => void): void {
    for (const name of this.options.feeds) run(this.options.board.feed(name), name);
  }

  private refuseUnlessRemote(unit: MessageUnit): void {
    if (this.remote || unit.query || unit.header.startsWith("*") || /^SYST(EM)?:/i.test(unit.header)) return;
    throw new ScpiError(-203, "Command protected;local mode");
  }

  /** The channels a command is for, by the dialect; a trailing channel list is taken off its parameters. */
  private channels(call: Call): { names: string[]; parameters: string[] } {
    const { dialect, feeds } = this.options;
    const named = (channel: number, code: number): string => {
      const name = feeds[channel - 1];
      if (name === undefined) throw new ScpiError(code, `${code === -114 ? "Header suffix" : "Data"} out of range`);
      return name;
    };
    const last = call.parameters.at(-1);
    if (last?.startsWith("(")) {
      if (dialect !== "channel-list") throw new ScpiError(-108, "Parameter not allowed");
      return {
        names: channelList(last).map((channel) => named(channel, -222)),
        parameters: call.parameters.slice(0, -1),
      };
    }
    if (dialect === "numbered") return { names: [named(call.numbers[0] ?? 1, -114)], parameters: call.parameters };
    return { names: [named(dialect === "selection" ? this.selected + 1 : 1, -222)], parameters: call.parameters };
  }

  private onFeeds(
    pattern: string,
    run: (feed: SimulatedFeed, parameters: string[], name: string) => string | undefined,
  ): void {
    const numbered = this.options.dialect === "numbered";
    this.scpi.on(numbered ? pattern : pattern.replaceAll("#", ""), (call) => {
      const { names, parameters } = this.channels(call);
      this.options.board.advanceTo(this.options.nowMs());
      const answers = names.map((name) => run(this.options.board.feed(name), parameters, name));
      if (answers.every((each) => each === undefined)) {
        this.options.onChange(`${names.join(",")} ${call.header} ${parameters.join(",")}`.trim());
        return undefined;
      }
      return answers.join(",");
    });
  }

  /** A number that can be set and asked for, within limits that `MIN` and `MAX` tell. */
  private setting(
    pattern: string,
    unit: string,
    limits: () => readonly [number, number],
    get: (stage: OutputStage) => number,
    set: (stage: OutputStage, value: number) => void,
  ): void {
    this.onFeeds(pattern, ({ stage }, [text], name) => {
      const [least, most] = limits();
      const word = text?.toUpperCase();
      const value = /^MIN/.test(word ?? "") ? least : /^MAX/.test(word ?? "") ? most : numberFrom(text, unit);
      if (value < least - 1e-9 || value > most + 1e-9) throw new ScpiError(-222, "Data out of range");
      set(stage, value);
      this.options.board.settingsChanged(name);
      return undefined;
    });
    this.onFeeds(`${pattern}?`, ({ stage }, [text]) => {
      if (text === undefined) return this.number(get(stage));
      if (!this.options.traits.ratings) throw new ScpiError(-108, "Parameter not allowed");
      if (/^MIN/i.test(text)) return this.number(limits()[0]);
      if (/^MAX/i.test(text)) return this.number(limits()[1]);
      throw new ScpiError(-224, "Illegal parameter value");
    });
  }

  private number(value: number): string {
    if (this.options.traits.numbers === "scientific") {
      const [mantissa = "0", exponent = "0"] = Math.abs(value).toExponential(5).split("e");
      const power = Number(exponent);
      return `${value < 0 ? "-" : "+"}${mantissa}E${power < 0 ? "-" : "+"}${String(Math.abs(power)).padStart(2, "0")}`;
    }
    const places = Math.max(
      3,
      Math.ceil(-Math.log10(Math.min(this.options.traits.stepVolts, this.options.traits.stepAmps))),
    );
    return value.toFixed(Math.min(6, places));
  }

  private truth(value: boolean): string {
    if (this.options.traits.booleans === "word") return value ? "ON" : "OFF";
    return value ? "1" : "0";
  }

  private off(name: string, why: string): void {
    if (!this.options.staysOn()) this.options.board.switchOutput(name, "off", why);
  }

  private addCommands(): void {
    const { traits, dialect, board } = this.options;
    this.setting(
      "[SOURce#]:VOLTage[:LEVel][:IMMediate][:AMPLitude]",
      "V",
      () => [0, traits.maxVolts],
      (stage) => stage.setVolts,
      (stage, value) => {
        stage.setVolts = value;
      },
    );
    this.setting(
      "[SOURce#]:CURRent[:LEVel][:IMMediate][:AMPLitude]",
      "A",
      () => [0, traits.maxAmps],
      (stage) => stage.limitAmps,
      (stage, value) => {
        stage.limitAmps = value;
      },
    );
    this.onFeeds("OUTPut#[:STATe]", ({ stage }, [text], name) => {
      const on = booleanFrom(text);
      if (on && stage.tripped !== "none") throw new ScpiError(-221, "Settings conflict;protection tripped");
      if (on) board.switchOutput(name, "on", "command");
      else this.off(name, "command");
      return undefined;
    });
    this.onFeeds("OUTPut#[:STATe]?", ({ stage }) => this.truth(stage.on));
    for (const clear of [
      "OUTPut#:PROTection:CLEar",
      "[SOURce#]:VOLTage:PROTection:CLEar",
      "[SOURce#]:CURRent:PROTection:CLEar",
    ]) {
      this.onFeeds(clear, ({ stage }, _parameters, name) => {
        const before = stage.on;
        stage.clear();
        this.watchdog.tripped = false;
        if (stage.on && !before) board.switchOutput(name, "on", "protection cleared");
        board.settingsChanged(name);
        return undefined;
      });
    }
    if (traits.overVoltage) {
      this.setting(
        "[SOURce#]:VOLTage:PROTection[:LEVel]",
        "V",
        () => [0, traits.maxVolts * 1.1],
        (stage) => stage.overVolts,
        (stage, value) => {
          stage.overVolts = value;
        },
      );
      this.toggle(
        "[SOURce#]:VOLTage:PROTection:STATe",
        (stage) => stage.overVoltsOn,
        (stage, on) => {
          stage.overVoltsOn = on;
        },
      );
      this.onFeeds("[SOURce#]:VOLTage:PROTection:TRIPped?", ({ stage }) =>
        this.truth(stage.tripped === "over-voltage"),
      );
    }
    if (traits.overCurrent) {
      this.toggle(
        "[SOURce#]:CURRent:PROTection:STATe",
        (stage) => stage.overCurrentOn,
        (stage, on) => {
          stage.overCurrentOn = on;
        },
      );
      this.onFeeds("[SOURce#]:CURRent:PROTection:TRIPped?", ({ stage }) =>
        this.truth(stage.tripped === "over-current"),
      );
      this.setting(
        "[SOURce#]:CURRent:PROTection:DELay",
        "S",
        () => [0, 10],
        (stage) => stage.overCurrentDelayMs / 1000,
        (stage, value) => {
          stage.overCurrentDelayMs = value * 1000;
        },
      );
    }
    this.onFeeds("MEASure#[:SCALar]:VOLTage[:DC]?", ({ readBack, stage }) => this.number(readBack.read(stage).volts));
    this.onFeeds("MEASure#[:SCALar]:CURRent[:DC]?", ({ readBack, stage }) => this.number(readBack.read(stage).amps));
    if (traits.conditionStatus) {
      // Bit 8 constant voltage, bit 10 constant current: common on supplies, from memory.
      // The instrument summary is SCPI-1999's own place for one of several outputs; some keep a register for each.
      for (const where of ["STATus:OPERation#:CONDition?", "STATus:OPERation:INSTrument:ISUMmary#:CONDition?"]) {
        this.onFeeds(where, ({ stage, readBack }) =>
          String(
            (stage.on ? (readBack.read(stage).limiting ? 1024 : 256) : 0) |
              ACQUISITION_BITS[this.buffer?.state ?? "stopped"],
          ),
        );
      }
      this.onFeeds("STATus:QUEStionable#:CONDition?", ({ stage }) =>
        String(stage.tripped === "over-voltage" ? 1 : stage.tripped === "over-current" ? 2 : 0),
      );
    }
    if (dialect === "selection") this.addSelection();
    if (traits.watchdog) this.watchdog.addCommands(this.scpi, (on) => this.truth(on));
    this.scpi.on("SYSTem:REMote", () => {
      this.remote = true;
      return undefined;
    });
    this.scpi.on("SYSTem:RWLock", () => {
      this.remote = true;
      return undefined;
    });
    this.scpi.on("SYSTem:LOCal", () => {
      this.remote = !traits.needsRemote;
      return undefined;
    });
  }

  private addBuffer(random: Random): void {
    const { board, feeds, nowMs } = this.options;
    const nameOf = (quantity: "VOLT" | "CURR", channel: number): string => {
      const feed = feeds[channel - 1];
      if (feed === undefined) throw new ScpiError(-222, "Data out of range");
      return `${quantity} ${feed}`;
    };
    this.buffer = new SimulatedBuffer({
      scpi: this.scpi,
      random,
      nowMs,
      onStep: board.onStep,
      see: () =>
        Object.fromEntries(
          feeds.flatMap((feed) => [
            [`VOLT ${feed}`, board.feed(feed).stage.terminalVolts],
            [`CURR ${feed}`, board.feed(feed).circuit.leadAmps],
          ]),
        ),
    });
    this.buffer.addSupplyWords(nameOf);
  }

  private toggle(
    pattern: string,
    get: (stage: OutputStage) => boolean,
    set: (stage: OutputStage, on: boolean) => void,
  ): void {
    this.onFeeds(pattern, ({ stage }, [text], name) => {
      set(stage, booleanFrom(text));
      this.options.board.settingsChanged(name);
      return undefined;
    });
    this.onFeeds(`${pattern}?`, ({ stage }) => this.truth(get(stage)));
  }

  private addSelection(): void {
    const select = (channel: number): undefined => {
      if (!Number.isInteger(channel) || channel < 1 || channel > this.options.feeds.length) {
        throw new ScpiError(-222, "Data out of range");
      }
      this.selected = channel - 1;
      return undefined;
    };
    this.scpi.on("INSTrument:NSELect", ({ parameters }) => select(numberFrom(parameters[0], "")));
    this.scpi.on("INSTrument:NSELect?", () => String(this.selected + 1));
    this.scpi.on("INSTrument[:SELect]", ({ parameters }) => {
      const found = /^"?(?:CH|OUT|OUTP)(\d+)"?$/i.exec(parameters[0] ?? "");
      if (found === null) throw new ScpiError(-224, "Illegal parameter value");
      return select(Number(found[1]));
    });
    this.scpi.on("INSTrument[:SELect]?", () => `CH${this.selected + 1}`);
  }
}
