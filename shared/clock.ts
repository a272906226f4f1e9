/**
 * Time as it is handed to everything that waits: a real clock in the processes, a hand-set one in the tests.
 * `nowMs` is monotonic, in milliseconds, from an arbitrary zero; never wall-clock time.
 */
export interface Clock {
  nowMs(): number;
  /** Runs `run` once, `ms` from now; the answer is the way to call it off. */
  after(ms: number, run: () => void): () => void;
}

/** Settles `ms` from now on this clock. It cannot be called off: race it against what may come first. */
export const pause = (clock: Clock, ms: number): Promise<void> =>
  new Promise((resolve) => void clock.after(ms, resolve));

/**
 * A time in whole hundredths of a millisecond, the one before it. Times of a run are kept so: finer than any instrument answers, and
 * a reading takes a third of the room.
 */
export const wholeHundredths = (ms: number): number => Math.floor(ms * 100 + 1e-6) / 100;
