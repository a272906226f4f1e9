import type { OutputStage } from "./output-stage.ts";
import type { Random } from "./random.ts";
import type { FullSupplyTraits } from "./supply-defaults.ts";

/** The answer of a supply about an output: filtered, sampled at its own pace, off by its errors, noisy, in its steps. */
export class ReadBack {
  private readonly traits: FullSupplyTraits;
  private readonly random: Random;
  private filteredVolts = 0;
  private filteredAmps = 0;
  private latchedVolts = 0;
  private latchedAmps = 0;
  private latchedLimiting = false;
  private nextMs = 0;
  private turn = 0;
  /** Answers the last sample for ever. */
  frozen = false;

  constructor(traits: FullSupplyTraits, random: Random) {
    this.traits = traits;
    this.random = random;
  }

  /** Follows a step of `ms` that ended at `atMs`. */
  step(now: { ms: number; atMs: number; volts: number; amps: number; limiting: boolean }): void {
    const share = this.traits.filterMs <= 0 ? 1 : -Math.expm1(-now.ms / this.traits.filterMs);
    this.filteredVolts += share * (now.volts - this.filteredVolts);
    this.filteredAmps += share * (now.amps - this.filteredAmps);
    if (!this.frozen && now.atMs >= this.nextMs - 1e-6) this.latch(now.atMs, now.limiting);
  }

  /** When the next sample is taken. */
  get nextRefreshMs(): number {
    return this.traits.refreshMs <= 0 || this.frozen ? Number.POSITIVE_INFINITY : this.nextMs;
  }

  private latch(atMs: number, limiting: boolean): void {
    const { refreshMs, refreshJitter, staggered } = this.traits;
    this.turn += 1;
    if (!staggered || this.turn % 2 === 0) this.latchedVolts = this.sampleVolts();
    if (!staggered || this.turn % 2 === 1) this.latchedAmps = this.sampleAmps();
    this.latchedLimiting = limiting;
    this.nextMs = atMs + refreshMs * (1 + refreshJitter * (2 * this.random.next() - 1));
  }

  private sampleVolts(): number {
    const { gainVolts, offsetVolts, noiseVolts, stepVolts } = this.traits;
    const volts = this.filteredVolts * (1 + gainVolts) + offsetVolts + noiseVolts * this.random.normal();
    return Math.round(volts / stepVolts) * stepVolts;
  }

  private sampleAmps(): number {
    const { gainAmps, offsetAmps, noiseAmps, stepAmps } = this.traits;
    const amps = this.filteredAmps * (1 + gainAmps) + offsetAmps + noiseAmps * this.random.normal();
    return Math.round(amps / stepAmps) * stepAmps;
  }

  /** The last sample; with no refresh interval, a sample taken now. */
  read(stage: OutputStage): { volts: number; amps: number; limiting: boolean } {
    if (this.traits.refreshMs <= 0 && !this.frozen) {
      this.latchedVolts = this.sampleVolts();
      this.latchedAmps = this.sampleAmps();
      this.latchedLimiting = stage.limiting;
    }
    return { volts: this.latchedVolts, amps: this.latchedAmps, limiting: this.latchedLimiting };
  }
}
