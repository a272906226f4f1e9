import type { ProcessorTime } from "./processor-time.ts";

/** A look later than this, in milliseconds, means that this whole process was delayed and has messages it has not read yet. */
const LATE_LOOK_MS = 40;
/** The most of another process's wait for a processor, in milliseconds, that is subtracted from its silence. */
const MOST_WAIT_MS = 150;
/** A process that had this much processor time, in milliseconds, and still sent nothing is silent by its own fault. */
const LONG_RUN_MS = 100;

/**
 * Milliseconds for which another process has been silent by its own fault. Two times do not count: the time in which this
 * process was not called back (a late look counts as 40 ms), and up to 150 ms in which the other process was ready but the
 * machine gave it no processor.
 */
export class Silence {
  readonly #timeOf: () => ProcessorTime | null;
  #lastLookMs: number;
  #silentMs = 0;
  #before: ProcessorTime | null;

  /** `timeOf`: the other's time on and off the processor so far; null where that is not known. */
  constructor(nowMs: number, timeOf: () => ProcessorTime | null = () => null) {
    this.#timeOf = timeOf;
    this.#lastLookMs = nowMs;
    this.#before = timeOf();
  }

  heard(nowMs: number): void {
    this.#lastLookMs = nowMs;
    this.#silentMs = 0;
    this.#before = this.#timeOf();
  }

  /** To be called every 10 to 25 ms: the silence so far, of which more than `limitMs` is too much. */
  look(nowMs: number, limitMs: number): number {
    this.#silentMs += Math.min(nowMs - this.#lastLookMs, LATE_LOOK_MS);
    this.#lastLookMs = nowMs;
    // Its processor time is looked at only where it decides.
    return this.#silentMs <= limitMs ? this.#silentMs : this.#silentMs - this.#waitMs();
  }

  /** The time that the machine kept the other waiting since it was heard last; 0 where it ran long enough to have spoken. */
  #waitMs(): number {
    const now = this.#timeOf();
    if (now === null || this.#before === null || now.ranMs - this.#before.ranMs > LONG_RUN_MS) return 0;
    return Math.max(0, Math.min(now.waitedMs - this.#before.waitedMs, MOST_WAIT_MS));
  }
}
