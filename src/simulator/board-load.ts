import type { LoadSum } from "./load-sum.ts";

/** One thing that draws current from one feed. */
export interface BoardLoad {
  /** Adds what it draws at `atMs` to the sum. `volts` is the feed's voltage at the card, a step ago. */
  draw(sum: LoadSum, volts: number, atMs: number): void;
  /** When it will next change by itself, in ms of the simulation's time; Infinity when it will not. */
  nextChangeMs(atMs: number): number;
}

/** When a voltage first passed a level: loads count their time from there, and start anew after it fell back. */
export function sinceAbove(fromVolts: number, untilVolts: number): (volts: number, atMs: number) => number | undefined {
  let since: number | undefined;
  return (volts, atMs) => {
    if (since === undefined ? volts >= fromVolts : volts < untilVolts) since = since === undefined ? atMs : undefined;
    return since;
  };
}
