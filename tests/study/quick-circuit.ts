import type { Random } from "../../src/simulator/random.ts";

/** All that one feed of a study board draws, and what it draws it through. Times count from passing the rising lock-out. */
export interface Draw {
  open: boolean;
  inputFarads: number;
  leadOhms: number;
  esrOhms: number;
  lockOutVolts: readonly [number, number];
  siemens: number;
  junction: { volts: number; ohms: number } | null;
  biasAmps: number;
  watts: number;
  startWatts: number;
  startMs: number;
  pulse: { amps: number; periodMs: number; onMs: number } | null;
  leak: { amps: number; tauMs: number; mostAmps: number } | null;
  creep: { share: number; tauMs: number } | null;
  flicker: { amps: number; onMs: number; offMs: number } | null;
}

export interface CircuitTraits {
  /** Set-point reached after this, per 12 V. */
  riseMs: number;
  /** How long the supply gives `surgeAmps` before its limit acts. */
  limitDelayMs: number;
  surgeAmps: number;
}

/**
 * One supply output, a lead and a board, in steps handed in: the physics of the simulated board without its wire, its
 * output capacitor and its rails, so that a study of thousands takes minutes. Backward Euler in what is linear.
 */
export class QuickCircuit {
  setVolts = 0;
  limitAmps = 0;
  /** At the supply's terminals. */
  volts = 0;
  amps = 0;
  limiting = false;
  boardVolts = 0;
  private reference = 0;
  private overMs = 0;
  private upMs = Number.NaN;
  private flickerOn = true;
  private flickerLeftMs = 0;
  private readonly draw: Draw;
  private readonly traits: CircuitTraits;
  private readonly random: Random;

  constructor(draw: Draw, traits: CircuitTraits, random: Random) {
    this.draw = draw;
    this.traits = traits;
    this.random = random;
  }

  off(): void {
    this.setVolts = this.limitAmps = this.volts = this.amps = this.boardVolts = this.reference = this.overMs = 0;
    this.limiting = false;
    this.upMs = Number.NaN;
  }

  step(ms: number): void {
    const { draw } = this;
    this.reference = Math.min(this.setVolts, this.reference + (12 / this.traits.riseMs) * ms);
    if (draw.open) {
      this.volts = this.reference;
      return;
    }
    const ohms = draw.leadOhms + draw.esrOhms;
    const share = ms / 1000 / draw.inputFarads;
    const before = this.boardVolts;
    if (Number.isNaN(this.upMs) ? before >= draw.lockOutVolts[0] : before < draw.lockOutVolts[1])
      this.upMs = Number.isNaN(this.upMs) ? 0 : Number.NaN;
    else this.upMs += ms;
    let siemens = draw.siemens;
    let constant = this.loadAmps(before, ms);
    if (draw.junction !== null && before > draw.junction.volts) {
      siemens += 1 / draw.junction.ohms;
      constant -= draw.junction.volts / draw.junction.ohms;
    }
    let next = (before + share * (this.reference / ohms - constant)) / (1 + share * (1 / ohms + siemens));
    let amps = (this.reference - next) / ohms;
    const over = amps > this.limitAmps;
    this.overMs = over ? this.overMs + ms : 0;
    const most =
      this.overMs > this.traits.limitDelayMs ? this.limitAmps : Math.max(this.limitAmps, this.traits.surgeAmps);
    if (amps > most) {
      amps = most;
      next = (before + share * (amps - constant)) / (1 + share * siemens);
    }
    this.boardVolts = Math.max(0, next);
    this.amps = amps;
    this.limiting = over;
    this.volts = Math.min(this.reference, this.boardVolts + amps * ohms);
  }

  private loadAmps(volts: number, ms: number): number {
    const { draw, upMs } = this;
    let amps = volts >= 4 ? draw.biasAmps : 0;
    if (Number.isNaN(upMs)) return amps;
    const warm = draw.creep === null ? 1 : 1 - draw.creep.share * Math.expm1(-upMs / draw.creep.tauMs);
    const watts = upMs < draw.startMs ? draw.startWatts : draw.watts;
    amps += (Math.min(1, upMs / 4) * watts * warm) / Math.max(1, volts);
    if (draw.pulse !== null && upMs > 5 && (upMs - 5) % draw.pulse.periodMs < draw.pulse.onMs) amps += draw.pulse.amps;
    if (draw.leak !== null) amps += Math.min(draw.leak.mostAmps, draw.leak.amps * Math.expm1(upMs / draw.leak.tauMs));
    if (draw.flicker !== null) {
      this.flickerLeftMs -= ms;
      if (this.flickerLeftMs < 0) {
        this.flickerOn = !this.flickerOn;
        this.flickerLeftMs =
          (this.flickerOn ? draw.flicker.onMs : draw.flicker.offMs) * (0.2 + 0.8 * this.random.exponential());
      }
      if (this.flickerOn) amps += draw.flicker.amps;
    }
    return amps;
  }
}
