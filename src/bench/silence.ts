/** A look that comes later than this was kept waiting with its whole process: what was said meanwhile lies unread. */
const LATE_LOOK_MS = 40;

/**
 * For how long another process has been silent, milliseconds, while this one was running itself. Time in which this
 * process was not called back is its own stall and no news of the other, so a late look counts as 40 ms at most.
 */
export class Silence {
  #lastLookMs: number;
  #silentMs = 0;

  constructor(nowMs: number) {
    this.#lastLookMs = nowMs;
  }

  heard(nowMs: number): void {
    this.#lastLookMs = nowMs;
    this.#silentMs = 0;
  }

  /** To be called every 10 to 25 ms: the silence so far. */
  look(nowMs: number): number {
    this.#silentMs += Math.min(nowMs - this.#lastLookMs, LATE_LOOK_MS);
    this.#lastLookMs = nowMs;
    return this.#silentMs;
  }
}
