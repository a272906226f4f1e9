import type { Clock } from "../../shared/clock.ts";

/** setTimeout counts in 32 bits; a longer wait would fire at once. */
const LONGEST_TIMER_MS = 2 ** 31 - 1;

const monotonicMs = (): number => Number(process.hrtime.bigint()) / 1e6;

/**
 * CLOCK_MONOTONIC, which agrees between the processes of one machine, so that a deadline made in one holds in the next. A timer never runs early (setTimeout may, by a fraction of
 * a millisecond) and holds the process until it has run or was called off: a wait that matters is not cut short.
 */
export const realClock: Clock = {
  nowMs: monotonicMs,
  after(ms, run) {
    const dueAtMs = monotonicMs() + ms;
    let timer: NodeJS.Timeout;
    const arm = () => {
      const leftMs = dueAtMs - monotonicMs();
      if (leftMs <= 0) run();
      else timer = setTimeout(arm, Math.min(Math.ceil(leftMs), LONGEST_TIMER_MS));
    };
    timer = setTimeout(arm, Math.min(Math.max(Math.ceil(ms), 0), LONGEST_TIMER_MS));
    return () => clearTimeout(timer);
  },
};
