import { performance } from "node:perf_hooks";
import type { Clock } from "../../shared/clock.ts";

/** setTimeout counts in 32 bits; a longer wait would fire at once. */
const LONGEST_TIMER_MS = 2 ** 31 - 1;

/**
 * The machine's monotonic time, zero at the process's start. A timer never runs early (setTimeout may, by a fraction of
 * a millisecond) and holds the process until it has run or was called off: a wait that matters is not cut short.
 */
export const realClock: Clock = {
  nowMs: () => performance.now(),
  after(ms, run) {
    const dueAtMs = performance.now() + ms;
    let timer: NodeJS.Timeout;
    const arm = () => {
      const leftMs = dueAtMs - performance.now();
      if (leftMs <= 0) run();
      else timer = setTimeout(arm, Math.min(Math.ceil(leftMs), LONGEST_TIMER_MS));
    };
    timer = setTimeout(arm, Math.min(Math.max(Math.ceil(ms), 0), LONGEST_TIMER_MS));
    return () => clearTimeout(timer);
  },
};
