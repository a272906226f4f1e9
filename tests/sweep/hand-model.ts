import type { MeterReading } from "../../shared/meter-reading.ts";
import type { SweepCapture, SweepEffect, SweepPoint, SweepSteps } from "../../shared/sweep.ts";
import type { Random } from "../../src/simulator/random.ts";

/** A meter as it is found on benches: how often it reads, its noise, its digits, how fast its input settles. */
export interface MeterKind {
  readMs: number;
  jitter: number;
  sigma: number;
  step: number;
  settleMs: number;
  halfWidth: (volts: number) => number;
}

/** One stretch of where the probe is: on a point, or in the air (null). */
interface Stretch {
  fromMs: number;
  at: string | null;
}

export interface PlacementRecord {
  rail: string;
  what: HandDoes;
  capture: SweepCapture;
  /** True where the probe was not on the named point for all of the 300 ms before the value was taken. */
  isFalse: boolean;
  /** From the firm contact with the named point to the value. */
  tookMs: number;
}

export type HandDoes = "clean" | "bounces" | "slips" | "lifts early" | "wrong rail";

/** Each with the upper end of its share. */
const CHOICES: readonly [HandDoes, number][] = [
  ["clean", 0.35],
  ["bounces", 0.6],
  ["slips", 0.8],
  ["lifts early", 0.9],
  ["wrong rail", 1],
];

/**
 * A technician's hand on a probe, a board with these true volts and a meter, all in one time: it goes where the sweep
 * says, slips, bounces, lifts too early, lands on a wrong rail until it is asked, and says `take` on a rail that is dead.
 */
export class HandModel {
  readonly records: PlacementRecord[] = [];
  readonly questions: string[] = [];
  #nowMs = 0;
  #stretches: Stretch[] = [{ fromMs: 0, at: null }];
  #input = 0;
  #inputAtMs = 0;
  #firmMs = 0;
  #does: HandDoes = "clean";
  #takeAtMs: number | null = null;
  #rangeUpTo: number | null = null;
  #isOver = false;
  readonly #sweep: SweepSteps;
  readonly #volts: ReadonlyMap<string, number>;
  readonly #meter: MeterKind;
  readonly #random: Random;

  constructor(options: {
    sweep: SweepSteps;
    volts: ReadonlyMap<string, number>;
    meter: MeterKind;
    random: Random;
  }) {
    this.#sweep = options.sweep;
    this.#volts = options.volts;
    this.#meter = options.meter;
    this.#random = options.random;
  }

  /** From the first point to the last; throws where the sweep stands still for two minutes. */
  run(): void {
    this.#do(this.#sweep.take({ event: "begin", atMs: 0 }));
    let lastCount = 0;
    let lastMs = 0;
    let tickMs = 0;
    while (!this.#isOver) {
      const { readMs, jitter } = this.#meter;
      const queriedAtMs = this.#nowMs;
      this.#nowMs += readMs * (1 + jitter * (2 * this.#random.next() - 1));
      if (this.#takeAtMs !== null && this.#takeAtMs <= this.#nowMs) {
        this.#takeAtMs = null;
        this.#do(this.#sweep.take({ event: "say", atMs: this.#nowMs, word: "take" }));
      }
      const reading = this.#read(queriedAtMs);
      if (!this.#isOver) this.#do(this.#sweep.take({ event: "reading", atMs: this.#nowMs, reading }));
      if (this.#nowMs - tickMs > 500) {
        tickMs = this.#nowMs;
        this.#do(this.#sweep.take({ event: "tick", atMs: this.#nowMs }));
      }
      if (this.records.length > lastCount) [lastCount, lastMs] = [this.records.length, this.#nowMs];
      if (this.#nowMs - lastMs > 120_000)
        throw new Error(`the sweep stands still at ${this.#sweep.at?.rail} (${this.#does})`);
    }
  }

  #between(low: number, high: number): number {
    return low + (high - low) * this.#random.next();
  }

  #atMs(ms: number): string | null {
    let at: string | null = null;
    for (const each of this.#stretches) if (each.fromMs <= ms) at = each.at;
    return at;
  }

  /** The meter integrates over the second half of its reading, behind an input that takes time to settle. */
  #read(queriedAtMs: number): MeterReading {
    const { settleMs, sigma, step, halfWidth } = this.#meter;
    const half = (queriedAtMs + this.#nowMs) / 2;
    let sum = 0;
    let count = 0;
    for (let ms = this.#inputAtMs; ms < this.#nowMs; ms += 2) {
      const at = this.#atMs(ms);
      const real = at === null ? 0 : (this.#volts.get(at) ?? 0);
      // An open input is at nothing at once; a node charges the input through the probe.
      this.#input += (real - this.#input) * (at === null ? 0.6 : -Math.expm1(-2 / settleMs));
      if (ms >= half) {
        sum += this.#input;
        count++;
      }
    }
    this.#inputAtMs = this.#nowMs;
    const seen = (count === 0 ? this.#input : sum / count) + sigma * this.#random.normal();
    const value = Math.round(seen / step) * step;
    const isOver = this.#rangeUpTo !== null && Math.abs(value) > this.#rangeUpTo * 1.2;
    return {
      queriedAtMs,
      atMs: this.#nowMs,
      function: "volts",
      channel: null,
      kind: isOver ? "overload" : "value",
      value: isOver ? null : value,
      halfWidth: isOver ? null : halfWidth(value),
      leadNullOhms: null,
      nodeVolts: null,
    };
  }

  #do(effects: SweepEffect[]): void {
    for (const effect of effects) {
      if (effect.effect === "measure") this.#rangeUpTo = effect.setting.rangeUpTo;
      else if (effect.effect === "place-probe") this.#goTo(this.#point(effect.index));
      else if (effect.effect === "question") this.#asked(this.#point(effect.index), effect.because);
      else if (effect.effect === "captured") this.#captured(effect.capture);
      else if (effect.effect === "finished") this.#isOver = true;
    }
  }

  #point(index: number): SweepPoint {
    const point = this.#sweep.points[index];
    if (point === undefined) throw new Error(`no point ${index}`);
    return point;
  }

  #then(atMs: number, at: string | null): number {
    this.#stretches = [...this.#stretches.filter((each) => each.fromMs < atMs).slice(-40), { fromMs: atMs, at }];
    return atMs;
  }

  #goTo(point: SweepPoint): void {
    const draw = this.#random.next();
    this.#does = CHOICES.find(([, upTo]) => draw < upTo)?.[0] ?? "clean";
    const wrong = this.#does === "wrong rail" ? this.#wrongFor(point) : null;
    if (wrong === null && this.#does === "wrong rail") this.#does = "clean";
    this.#place(point, this.#nowMs + this.#between(250, 1400), wrong);
  }

  /** A rail that reads something that is plainly not this one's: as all that could be noticed. */
  #wrongFor(point: SweepPoint): string | null {
    const others = this.#sweep.points.filter((each) => {
      const volts = this.#volts.get(each.rail) ?? 0;
      const isGood = each.low !== null && each.high !== null && volts > each.low && volts < each.high;
      const isApart = (each.high ?? 0) < (point.low ?? 0) || (each.low ?? 0) > (point.high ?? 0);
      return isGood && isApart && each.rail !== point.rail;
    });
    return others[Math.floor(this.#random.next() * others.length)]?.rail ?? null;
  }

  #place(point: SweepPoint, fromMs: number, wrong: string | null): void {
    let at = fromMs;
    const neighbour = this.#sweep.points[Math.floor(this.#random.next() * this.#sweep.points.length)]?.rail ?? null;
    if (this.#does === "slips") {
      this.#then(at, neighbour);
      at += this.#between(30, 250);
      if (this.#random.next() < 0.5) {
        this.#then(at, null);
        at += this.#between(20, 150);
      }
    }
    if (this.#does === "lifts early") {
      this.#then(at, point.rail);
      at += this.#between(40, 280);
      this.#then(at, null);
      at += this.#between(200, 600);
    }
    if (this.#does === "bounces" || this.#does === "slips") {
      const bounces = 1 + Math.floor(this.#random.next() * 4);
      for (let bounce = 0; bounce < bounces; bounce++) {
        this.#then(at, wrong ?? point.rail);
        at += this.#between(5, 120);
        this.#then(at, null);
        at += this.#between(10, 90);
      }
    }
    this.#firmMs = this.#then(at, wrong ?? point.rail);
    const volts = Math.abs(this.#volts.get(wrong ?? point.rail) ?? 0);
    // What shows nothing has to be said; a person waits a moment to see whether it is taken by itself.
    if (volts < 0.05) this.#takeAtMs = at + this.#between(1200, 2500);
  }

  /** Notices after a moment, lifts and goes to the right point. Where it was right all along it stays. */
  #asked(point: SweepPoint, because: string): void {
    this.questions.push(because);
    if (this.#atMs(this.#nowMs) === point.rail) {
      this.#firmMs = this.#nowMs;
      return;
    }
    const lift = this.#then(this.#nowMs + this.#between(400, 1600), null);
    this.#place(point, lift + this.#between(400, 1200), null);
  }

  #captured(capture: SweepCapture): void {
    const point = this.#point(capture.index);
    const wasOff = this.#stretches.some(
      (each, index) =>
        each.at !== point.rail &&
        each.fromMs < this.#nowMs &&
        (this.#stretches[index + 1]?.fromMs ?? Number.POSITIVE_INFINITY) > this.#nowMs - 300,
    );
    this.records.push({
      rail: point.rail,
      what: this.#does,
      capture,
      isFalse: wasOff,
      tookMs: this.#nowMs - this.#firmMs,
    });
    this.#takeAtMs = null;
    // Away after a moment; the tip may scratch along the point once more on the way.
    let at = this.#then(this.#nowMs + this.#between(150, 700), null);
    if (this.#random.next() < 0.3) {
      at = this.#then(at + this.#between(10, 60), point.rail);
      this.#then(at + this.#between(10, 90), null);
    }
  }
}
