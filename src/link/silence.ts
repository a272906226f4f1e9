/** A look that comes later than this was kept waiting with its whole process: what was said meanwhile lies unread. */
const LATE_LOOK_MS = 40;
/** Of another process's wait for a processor, so much is taken off its silence at most. */
const MOST_WAIT_MS = 150;

/**
 * For how long another process has been silent, milliseconds, by its own doing: time in which this process was not called
 * back (a late look counts as 40 ms), and up to 150 ms in which the other stood ready and the machine gave it no processor,
 * are no news of it.
 */
export class Silence {
  readonly #waitedMs: () => number | null;
  #lastLookMs: number;
  #silentMs = 0;
  #waitedBeforeMs: number;

  /** `waitedMs`: for how long in all the other has waited for a processor; null where that is not known. */
  constructor(nowMs: number, waitedMs: () => number | null = () => null) {
    this.#waitedMs = waitedMs;
    this.#lastLookMs = nowMs;
    this.#waitedBeforeMs = waitedMs() ?? 0;
  }

  heard(nowMs: number): void {
    this.#lastLookMs = nowMs;
    this.#silentMs = 0;
    this.#waitedBeforeMs = this.#waitedMs() ?? 0;
  }

  /** To be called every 10 to 25 ms: the silence so far, of which more than `limitMs` is too much. */
  look(nowMs: number, limitMs: number): number {
    this.#silentMs += Math.min(nowMs - this.#lastLookMs, LATE_LOOK_MS);
    this.#lastLookMs = nowMs;
    // What it has waited since it was heard last counts only where it decides.
    if (this.#silentMs <= limitMs) return this.#silentMs;
    const waitedMs = (this.#waitedMs() ?? 0) - this.#waitedBeforeMs;
    return this.#silentMs - Math.max(0, Math.min(waitedMs, MOST_WAIT_MS));
  }
}
