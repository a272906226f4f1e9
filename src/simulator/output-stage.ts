import type { FullSupplyTraits } from "./supply-defaults.ts";

/**
 * One output of a supply: a reference that slews to its set-point, a limit that takes over after a delay, a capacitor
 * outside the limit's loop, a down-programmer, and protections.
 */
export class OutputStage {
  setVolts = 0;
  limitAmps: number;
  on = false;
  overVolts: number;
  overVoltsOn = true;
  overCurrentOn = false;
  overCurrentDelayMs: number;
  tripped: "none" | "over-voltage" | "over-current" | "watchdog" = "none";
  /** Before a protection acted; what `clearRestores` puts back. */
  wasOn = false;
  /** The value of the slewing reference now. */
  referenceVolts = 0;
  /** Across the terminals. */
  terminalVolts = 0;
  /** The current that the regulator delivers, before the output capacitor. */
  regulatedAmps = 0;
  limiting = false;
  /** Whether the step just taken was limited, also where it ended in a trip. */
  stepLimited = false;
  private overLimitMs = 0;
  private overVoltsMs = 0;
  private limitedMs = 0;
  private offMs = Number.POSITIVE_INFINITY;
  readonly traits: FullSupplyTraits;

  constructor(traits: FullSupplyTraits) {
    this.traits = traits;
    this.limitAmps = traits.maxAmps;
    this.overVolts = traits.maxVolts * 1.1;
    this.overCurrentDelayMs = traits.overCurrentDelayMs;
  }

  switchOn(): void {
    if (this.on || this.tripped !== "none") return;
    this.on = true;
    // The loop starts from what is on the terminals, so that a charged board is not pulled down.
    this.referenceVolts = Math.max(0, Math.min(this.terminalVolts, this.setVolts));
    this.overLimitMs = 0;
    this.overVoltsMs = 0;
    this.limitedMs = 0;
  }

  switchOff(): void {
    if (this.on) this.offMs = 0;
    this.on = false;
    this.limiting = false;
  }

  reset(): void {
    this.switchOff();
    this.setVolts = 0;
    this.limitAmps = this.traits.maxAmps;
    this.overVolts = this.traits.maxVolts * 1.1;
    this.overVoltsOn = true;
    this.overCurrentOn = false;
    this.overCurrentDelayMs = this.traits.overCurrentDelayMs;
    this.tripped = "none";
  }

  /** The reference at the end of a step of `ms`. */
  referenceAfter(ms: number): number {
    const risen = this.referenceVolts + (12 / this.traits.riseMs) * ms;
    const fallen = this.referenceVolts - (12 / this.traits.fallMs) * ms;
    return Math.max(Math.min(this.setVolts, risen), Math.min(this.referenceVolts, Math.max(this.setVolts, fallen)));
  }

  /** The most the regulator can deliver and sink now. */
  range(): { mostAmps: number; leastAmps: number } {
    if (!this.on) {
      const sinks = this.offMs < this.traits.offSinkMs;
      const amps = sinks ? -this.traits.sinkAmps : 0;
      return { mostAmps: amps, leastAmps: amps };
    }
    const limitActs = this.overLimitMs >= this.traits.limitDelayMs;
    return {
      mostAmps: limitActs ? this.limitAmps : Math.max(this.limitAmps, this.traits.surgeAmps),
      leastAmps: -this.traits.sinkAmps,
    };
  }

  /**
   * Terminal volts and regulated amps at the end of a step, for a board at `boardVolts` behind `leadOhms`. Backward
   * Euler, piecewise linear and so solved directly. `stepSeconds` above zero.
   */
  solve(
    boardVolts: number,
    leadOhms: number,
    reference: number,
    stepSeconds: number,
  ): { volts: number; amps: number; slope: number } {
    const { outputFarads, outputOhms, bleedOhms } = this.traits;
    const stored = outputFarads / stepSeconds;
    const lead = 1 / leadOhms;
    const bleed = this.on ? 0 : 1 / bleedOhms;
    const passive = stored + lead + bleed;
    const pushed = stored * this.terminalVolts + lead * boardVolts;
    const { mostAmps, leastAmps } = this.range();
    if (this.on) {
      const regulated = 1 / outputOhms;
      const volts = (pushed + regulated * reference) / (passive + regulated);
      const amps = (reference - volts) * regulated;
      if (amps <= mostAmps && amps >= leastAmps) return { volts, amps, slope: lead / (passive + regulated) };
      const held = amps > mostAmps ? mostAmps : leastAmps;
      return { volts: (pushed + held) / passive, amps: held, slope: lead / passive };
    }
    // The down-programmer stops at zero; it never drives the output negative.
    if (pushed + mostAmps < 0 && mostAmps < 0)
      return { volts: Math.min(0, pushed / passive), amps: -Math.max(0, pushed), slope: 0 };
    return { volts: (pushed + mostAmps) / passive, amps: mostAmps, slope: lead / passive };
  }

  /** Takes over the end of a step; answers whether something changed that the next step should look at closely. */
  commit(solved: { volts: number; amps: number }, reference: number, ms: number): boolean {
    const wasLimiting = this.limiting;
    const demanded = this.on ? (reference - solved.volts) / this.traits.outputOhms : 0;
    this.referenceVolts = this.on ? reference : 0;
    this.terminalVolts = solved.volts;
    this.regulatedAmps = solved.amps;
    const over = this.on && demanded > this.limitAmps;
    const acted = this.overLimitMs >= this.traits.limitDelayMs;
    this.overLimitMs = over ? this.overLimitMs + ms : 0;
    this.limiting = over;
    this.stepLimited = over;
    if (!this.on) this.offMs += ms;
    let changed = wasLimiting !== this.limiting || acted !== this.overLimitMs >= this.traits.limitDelayMs;
    this.limitedMs = this.limiting ? this.limitedMs + ms : 0;
    if (this.traits.overVoltage && this.overVoltsOn && this.on && this.terminalVolts > this.overVolts) {
      this.overVoltsMs += ms;
      if (this.overVoltsMs >= this.traits.overVoltageDelayMs) this.trip("over-voltage");
      changed = true;
    } else this.overVoltsMs = 0;
    if (
      this.traits.overCurrent &&
      this.overCurrentOn &&
      this.on &&
      this.limitedMs >= Math.max(ms, this.overCurrentDelayMs)
    ) {
      this.trip("over-current");
      changed = true;
    }
    return changed;
  }

  trip(why: "over-voltage" | "over-current" | "watchdog"): void {
    this.wasOn = this.on;
    this.switchOff();
    this.tripped = why;
  }

  /** Clears a trip; some supplies then put the output back to what it was. */
  clear(): void {
    const restore = this.traits.clearRestores && this.wasOn && this.tripped !== "none";
    this.tripped = "none";
    this.wasOn = false;
    if (restore) this.switchOn();
  }

  /** The next time inside which a step should end by itself, ms from now. */
  nextChangeMs(): number {
    if (this.on && this.overCurrentOn && this.limiting) return Math.max(0, this.overCurrentDelayMs - this.limitedMs);
    if (!this.on && this.offMs < this.traits.offSinkMs) return this.traits.offSinkMs - this.offMs;
    if (this.on && this.overLimitMs > 0 && this.overLimitMs < this.traits.limitDelayMs)
      return this.traits.limitDelayMs - this.overLimitMs;
    return Number.POSITIVE_INFINITY;
  }
}
