import type { Clock } from "../shared/clock.ts";

interface Timer {
  atMs: number;
  order: number;
  run: () => void;
}

/** A clock set by hand: time stands still until `step` or `advance` moves it to the next timer. */
export class HandClock implements Clock {
  #nowMs = 0;
  #order = 0;
  readonly #timers = new Set<Timer>();

  nowMs(): number {
    return this.#nowMs;
  }

  after(ms: number, run: () => void): () => void {
    const timer: Timer = { atMs: this.#nowMs + Math.max(0, ms), order: this.#order++, run };
    this.#timers.add(timer);
    return () => void this.#timers.delete(timer);
  }

  /** Moves to the next timer and runs it; false where there is none. */
  step(): boolean {
    let next: Timer | undefined;
    for (const each of this.#timers) {
      if (next === undefined || each.atMs < next.atMs || (each.atMs === next.atMs && each.order < next.order))
        next = each;
    }
    if (next === undefined) return false;
    this.#timers.delete(next);
    this.#nowMs = Math.max(this.#nowMs, next.atMs);
    next.run();
    return true;
  }

  /** Runs every timer due within `ms`, in order, then stands at that time. */
  advance(ms: number): void {
    const untilMs = this.#nowMs + ms;
    for (;;) {
      const due = [...this.#timers].some((each) => each.atMs <= untilMs);
      if (!due) break;
      this.step();
    }
    this.#nowMs = untilMs;
  }
}
