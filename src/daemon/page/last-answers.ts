/** When each instrument answered last, by wall clock; each has a lamp of its own. */
export class LastAnswers {
  readonly #lastMs = new Map<string, number>();
  readonly #gone = new Set<string>();
  readonly #nowMs: () => number;

  constructor(nowMs: () => number = Date.now) {
    this.#nowMs = nowMs;
  }

  heard(instrument: string): void {
    this.#lastMs.set(instrument, this.#nowMs());
    this.#gone.delete(instrument);
  }

  /** It was asked and did not answer. */
  missed(instrument: string): void {
    this.#gone.add(instrument);
  }

  /** ISO 8601; null before the first answer. */
  lastAt(instrument: string): string | null {
    const ms = this.#lastMs.get(instrument);
    return ms === undefined ? null : new Date(ms).toISOString();
  }

  /** True where it was asked in vain. */
  silent(instrument: string): boolean {
    return this.#gone.has(instrument);
  }
}
