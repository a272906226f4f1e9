/** How long questions took to be answered, milliseconds; null until there is one. */
export interface RoundTripFigures {
  p50Ms: number | null;
  p99Ms: number | null;
  count: number;
}

const KEPT = 256;

/** The round trips of one instrument: keeps the last 256, answers with their quantiles (nearest rank). */
export class RoundTrips {
  readonly #kept: number[] = [];
  #count = 0;
  #figures: RoundTripFigures = { p50Ms: null, p99Ms: null, count: 0 };

  add(ms: number): void {
    this.#kept[this.#count % KEPT] = ms;
    this.#count += 1;
    // Sorting at every reading would cost more than the reading; every eighth, and each of the first, is enough.
    if (this.#count < 16 || this.#count % 8 === 0) this.#figures = this.#work();
    else this.#figures = { ...this.#figures, count: this.#count };
  }

  get figures(): RoundTripFigures {
    return this.#figures;
  }

  #work(): RoundTripFigures {
    const sorted = [...this.#kept].sort((a, b) => a - b);
    const rank = (share: number): number => sorted[Math.max(0, Math.ceil(share * sorted.length) - 1)] ?? 0;
    return { p50Ms: rank(0.5), p99Ms: rank(0.99), count: this.#count };
  }
}
