import type { RecorderChannel } from "../../shared/files/recorder-entry.ts";
import type { SimulatedBoard } from "./simulated-board.ts";

/** Volts at a recorder's input: the board's volts through the probe, or its amps over the shunt. */
export function inputVolts(
  board: SimulatedBoard,
  { point, reads, probe, shuntOhms, voltsPerAmp }: RecorderChannel,
): number {
  const value =
    reads === "volts" ? (board.voltsAt(point) ?? 0) : board.ampsInto(point) * (shuntOhms ?? voltsPerAmp ?? 1);
  return value / probe;
}

/** Values between the times they were noted at, straight lines in between: `at` never goes back. */
export class SignalMemory {
  readonly #atMs: number[] = [];
  readonly #values: number[][] = [];

  note(atMs: number, values: number[]): void {
    this.#atMs.push(atMs);
    this.#values.push(values);
  }

  /** Forgets what lies before this time, but for the last that is needed to draw a line from. */
  forgetBefore(atMs: number): void {
    let first = 0;
    while (first + 1 < this.#atMs.length && (this.#atMs[first + 1] ?? 0) <= atMs) first++;
    // Not for each: moving the rest takes longer than keeping it.
    if (first > 4096) {
      this.#atMs.splice(0, first);
      this.#values.splice(0, first);
    }
  }

  /** One channel on an even grid of `n` times. */
  sampled(channel: number, fromMs: number, stepMs: number, n: number): Float64Array {
    const out = new Float64Array(n);
    let at = 0;
    for (let i = 0; i < n; i++) {
      const ms = fromMs + i * stepMs;
      while (at + 1 < this.#atMs.length && (this.#atMs[at + 1] ?? 0) < ms) at++;
      const [t0 = 0, t1] = [this.#atMs[at], this.#atMs[at + 1]];
      const [v0 = 0, v1] = [this.#values[at]?.[channel], this.#values[at + 1]?.[channel]];
      out[i] =
        t1 === undefined || v1 === undefined || ms <= t0 ? v0 : v0 + ((v1 - v0) * (ms - t0)) / Math.max(1e-9, t1 - t0);
    }
    return out;
  }
}
