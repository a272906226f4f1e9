/** The time that questions took to be answered, milliseconds; null until there is one. */
export interface RoundTripFigures {
  p50Ms: number | null;
  p99Ms: number | null;
  count: number;
}

const KEPT = 256;

/** The round trips of one instrument: keeps the last 256, answers with their quantiles (nearest rank). */
export class RoundTrips {
  readonly #kept = new Float64Array(KEPT);
  #count = 0;
  #figures: RoundTripFigures = { p50Ms: null, p99Ms: null, count: 0 };
  #slowMs: number | null = null;
  #workedAt = 0;

  /** Forgets all: what was measured while getting to know the instrument is not how it answers. */
  clear(): void {
    this.#count = 0;
    this.#workedAt = 0;
    this.#slowMs = null;
    this.#figures = { p50Ms: null, p99Ms: null, count: 0 };
  }

  add(ms: number): void {
    this.#kept[this.#count % KEPT] = ms;
    this.#count += 1;
  }

  /**
   * The slowest answer to reckon with: p99, and of fewer than a hundred the slowest but one, since one stall of this
   * machine is no trait of the instrument, and would stretch every deadline. Null until there is an answer.
   */
  get slowMs(): number | null {
    return this.figures.count === 0 ? null : this.#slowMs;
  }

  get figures(): RoundTripFigures {
    // Sorting at every question would cost more than the question; the first 32, then every sixteenth, are enough.
    const isDue = this.#count < 32 ? this.#count !== this.#workedAt : this.#count - this.#workedAt >= 16;
    if (isDue) this.#figures = this.#work();
    return { ...this.#figures, count: this.#count };
  }

  #work(): RoundTripFigures {
    this.#workedAt = this.#count;
    const sorted = this.#kept.slice(0, Math.min(this.#count, KEPT)).sort();
    const rank = (share: number): number => sorted[Math.max(0, Math.ceil(share * sorted.length) - 1)] ?? 0;
    const p99Ms = rank(0.99);
    this.#slowMs = sorted.length >= 8 && sorted.length < 100 ? (sorted.at(-2) ?? p99Ms) : p99Ms;
    return { p50Ms: rank(0.5), p99Ms, count: this.#count };
  }
}
