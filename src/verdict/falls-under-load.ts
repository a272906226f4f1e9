import { at } from "../analysis/at.ts";
import { medianOf } from "../analysis/quantile.ts";

/** Volts that had reached the nominal voltage and were gone while as much current flowed as before, or the limit. */
export interface FallUnderLoad {
  /** Time of its first reading, milliseconds. */
  atMs: number;
  /** Time from reaching the nominal voltage to it. */
  ranMs: number;
  /** Medians of the readings that show it. */
  volts: number;
  amps: number;
  /** The number of readings that show it: one is enough, since no healthy board makes even one. */
  readings: number;
  /** False where the volts came back. */
  lasted: boolean;
}

/** Falling lock-out to reckon with where the board file says none, as a share of nominal: 4.5 V of 12 V (common practice, no source). */
export const LEAST_LOCK_OUT_SHARE = 0.37;
/** So much later than reaching nominal a fall is no longer the start's own. */
const START_MS = 3000;
/** More current than before by this share, if the limit was not stated. */
const MORE_SHARE = 0.1;

export interface FallInput {
  atMs: Float64Array;
  volts: Float64Array;
  amps: Float64Array;
  /** 1 in the limit, 0 not, 2 not known. */
  limited: Uint8Array;
  aimVolts: number;
  /** Index of the first reading at nominal. */
  reached: number;
  /** Share of the aim under which the volts are gone. */
  fallenShare: number;
  quietAmps: number;
}

/** The moment the voltage fell for good, and the falls under load after the start. An output that was switched off is not a fall. */
export function fallsUnderLoad(input: FallInput): { endsFallenAt: number | null; falls: FallUnderLoad[] } {
  const { volts, atMs, aimVolts, reached, fallenShare } = input;
  const falls: FallUnderLoad[] = [];
  let endsFallenAt: number | null = null;
  for (let i = reached; i < volts.length; ) {
    let to = i;
    while (to < volts.length && at(volts, to) < fallenShare * aimVolts) to++;
    if (to === i) {
      i++;
      continue;
    }
    const lasted = to === volts.length;
    if (lasted) endsFallenAt = i;
    const shown = readingsUnderLoad(input, i, to);
    const deep = shown.some((index) => at(volts, index) < LEAST_LOCK_OUT_SHARE * aimVolts);
    const ranMs = at(atMs, i) - at(atMs, reached);
    // A start that dips to its lock-out and comes back is the limit's doing, and judged with it.
    if (shown.length > 0 && (lasted || deep || ranMs > START_MS)) {
      const median = (of: Float64Array): number => medianOf(shown.map((index) => at(of, index)));
      falls.push({
        atMs: at(atMs, shown[0] ?? i),
        ranMs,
        volts: median(volts),
        amps: median(input.amps),
        readings: shown.length,
        lasted,
      });
    }
    i = to;
  }
  return { endsFallenAt, falls };
}

/** The readings of [from, to) with as much current as before them or more, or in the limit: an input that empties shows neither. */
function readingsUnderLoad(input: FallInput, from: number, to: number): number[] {
  const { amps, volts, limited, aimVolts, reached, quietAmps } = input;
  const level = Math.max(0, medianOf(amps.subarray(Math.max(reached, from - 20), from)) || 0);
  const found: number[] = [];
  for (let i = from; i < to; i++) {
    const now = at(amps, i);
    if (!(now > quietAmps)) continue;
    const more = now > Math.max((1 + MORE_SHARE) * level, level + quietAmps);
    const inLimit = at(limited, i) === 1 && now > 0.5 * level;
    // Under every lock-out no converter draws: what still flows there has found a path.
    const path = at(volts, i) < LEAST_LOCK_OUT_SHARE * aimVolts && now > (1 - MORE_SHARE) * level;
    if (more || inLimit || path) found.push(i);
  }
  return found;
}
