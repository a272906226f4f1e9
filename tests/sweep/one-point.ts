import type { MeterReading } from "../../shared/meter-reading.ts";
import type { SweepCapture, SweepEffect, SweepPoint, SweepQuantity, SweepWord } from "../../shared/sweep.ts";
import { advanceSweep } from "../../src/sweep/advance-sweep.ts";
import { NOT_BEGUN, type SweepState } from "../../src/sweep/sweep-state.ts";

/** A point of a made-up board. */
export function point(rail: string, expected: number, more: Partial<SweepPoint> = {}): SweepPoint {
  const quantity: SweepQuantity = more.quantity ?? "volts";
  const setting = { function: quantity, rangeUpTo: null, powerLineCycles: null, channel: null, leadNullOhms: null };
  return {
    rail,
    kind: "rail",
    point: rail,
    quantity,
    polarity: "red-on-point",
    expected,
    low: expected * 0.95,
    high: expected * 1.05,
    shortBelow: null,
    isDefault: false,
    setting,
    wideSetting: null,
    ...more,
  };
}

/** The machine on a steady meter that reads every 50 ms, driven by hand: each call lets a stretch of readings go by. */
export class Driven {
  readonly effects: SweepEffect[] = [];
  state: SweepState;
  atMs = 0;
  readonly #points: readonly SweepPoint[];
  readonly #hasMeter: boolean;
  #noise = 0;

  constructor(points: readonly SweepPoint[], hasMeter = true) {
    this.#points = points;
    this.#hasMeter = hasMeter;
    this.state = { ...NOT_BEGUN, queue: points.map((_, index) => index) };
    this.#take({ event: "begin", atMs: 0 });
  }

  get captures(): SweepCapture[] {
    return this.effects.flatMap((each) => (each.effect === "captured" ? [each.capture] : []));
  }

  of<E extends SweepEffect["effect"]>(effect: E): Extract<SweepEffect, { effect: E }>[] {
    return this.effects.filter((each): each is Extract<SweepEffect, { effect: E }> => each.effect === effect);
  }

  /** Readings of this value for so long; null is an overload, a function of the time since then moves. */
  reads(value: number | null | ((ms: number) => number), forMs: number, more: Partial<MeterReading> = {}): this {
    const fromMs = this.atMs;
    while (this.atMs - fromMs < forMs) {
      const queriedAtMs = this.atMs;
      this.atMs += 50;
      this.#noise = (this.#noise + 0.618) % 1;
      const clean = typeof value === "function" ? value(this.atMs - fromMs) : value;
      const [index = 0] = this.state.queue;
      this.#take({
        event: "reading",
        atMs: this.atMs,
        reading: {
          queriedAtMs,
          atMs: this.atMs,
          function: this.#points[index]?.setting.function ?? "volts",
          channel: this.#points[index]?.setting.channel ?? null,
          kind: clean === null ? "overload" : "value",
          value: clean === null ? null : clean + 0.0004 * (this.#noise - 0.5),
          halfWidth: 0.002,
          leadNullOhms: null,
          nodeVolts: null,
          ...more,
        },
      });
    }
    return this;
  }

  say(word: SweepWord): this {
    return this.#take({ event: "say", atMs: this.atMs, word });
  }

  type(quantity: SweepQuantity, value: number | null): this {
    return this.#take({ event: "typed", atMs: this.atMs, quantity, value });
  }

  pause(): this {
    return this.#take({ event: "pause", atMs: this.atMs });
  }

  resume(): this {
    return this.#take({ event: "resume", atMs: this.atMs });
  }

  tick(afterMs: number): this {
    this.atMs += afterMs;
    return this.#take({ event: "tick", atMs: this.atMs });
  }

  #take(event: Parameters<typeof advanceSweep>[2]): this {
    const course = { points: this.#points, hasMeter: this.#hasMeter };
    const { state, effects } = advanceSweep(course, this.state, event);
    this.state = state;
    this.effects.push(...effects);
    return this;
  }
}
