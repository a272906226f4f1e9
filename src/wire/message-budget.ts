import type { Clock } from "../../shared/clock.ts";

/** Messages a socket may send: 50 a second, 100 at once. A held-down key repeats about 30 times a second. */
export class MessageBudget {
  readonly #clock: Clock;
  readonly #perSecond: number;
  readonly #most: number;
  #left: number;
  #atMs: number;

  constructor(clock: Clock, limits: { perSecond: number; burst: number } = { perSecond: 50, burst: 100 }) {
    this.#clock = clock;
    this.#perSecond = limits.perSecond;
    this.#most = limits.burst;
    this.#left = limits.burst;
    this.#atMs = clock.nowMs();
  }

  /** False once the sender is over its budget. */
  spend(): boolean {
    const nowMs = this.#clock.nowMs();
    this.#left = Math.min(this.#most, this.#left + ((nowMs - this.#atMs) / 1000) * this.#perSecond);
    this.#atMs = nowMs;
    if (this.#left < 1) return false;
    this.#left -= 1;
    return true;
  }
}
