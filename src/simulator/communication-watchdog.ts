import { booleanFrom, numberFrom, ScpiError, type ScpiInstrument } from "./scpi-instrument.ts";

const defaultDelayMs = 60_000;

/** A supply's own watch over its controller: nothing heard for the delay, and the outputs go off. */
export class CommunicationWatchdog {
  tripped = false;
  private on = false;
  private delayMs = defaultDelayMs;
  private heardMs: number;
  private readonly nowMs: () => number;

  constructor(nowMs: () => number) {
    this.nowMs = nowMs;
    this.heardMs = nowMs();
  }

  /** Any line at all is a sign of life. */
  heard(): void {
    this.heardMs = this.nowMs();
  }

  reset(): void {
    this.on = false;
    this.delayMs = defaultDelayMs;
    this.tripped = false;
  }

  /** When it acts if nothing more is heard, simulation ms; Infinity while it is off or has acted. */
  get dueMs(): number {
    return this.on && !this.tripped ? this.heardMs + this.delayMs : Number.POSITIVE_INFINITY;
  }

  addCommands(scpi: ScpiInstrument, say: (on: boolean) => string): void {
    scpi.on("OUTPut:PROTection:WDOG[:STATe]", ({ parameters }) => {
      this.on = booleanFrom(parameters[0]);
      this.tripped = false;
      return undefined;
    });
    scpi.on("OUTPut:PROTection:WDOG[:STATe]?", () => say(this.on));
    scpi.on("OUTPut:PROTection:WDOG:DELay", ({ parameters }) => {
      const seconds = numberFrom(parameters[0], "S");
      if (seconds < 0.1 || seconds > 3600) throw new ScpiError(-222, "Data out of range");
      this.delayMs = seconds * 1000;
      return undefined;
    });
    scpi.on("OUTPut:PROTection:WDOG:DELay?", () => (this.delayMs / 1000).toFixed(3));
    scpi.on("OUTPut:PROTection:WDOG:TRIPped?", () => say(this.tripped));
  }
}
