import { noiseOf } from "../analysis/noise.ts";

/** The growing columns of one feed; null where nothing was ever known. */
export interface RowColumns {
  atMs: Float64Array;
  volts: Float64Array;
  amps: Float64Array;
  setVolts: Float64Array | null;
  limitAmps: Float64Array | null;
  mode: Uint8Array | null;
  stage: Uint8Array | null;
}

/** Neighbours closer than this share of the whole span, or this many times the noise, carry one level; later passes double both. */
const SHARE = 0.001;
const SIGMAS = 5;
const PASSES = 12;
/** The mode of a row whose mode was not asked. */
const UNKNOWN = 0;

/**
 * Joins neighbouring rows, in place, where nothing happens at them or beside them, and answers how many are left: at most
 * three quarters of `n` unless more than that change their mode, stage or setting. Two rows become their mean, in the mode that one of them has; rows of
 * different modes or settings, with and without a number, or further apart than four even shares of the record stay apart. So
 * edges, single peaks, gaps and the charge under the curve stay, and only level stretches are thinned. Linear in `n`.
 */
export function mergeQuietRows(columns: RowColumns, n: number): number {
  const widestMs = (4 * (at(columns.atMs, n - 1) - at(columns.atMs, 0))) / n;
  const reach = { volts: reachOf(columns.volts, n), amps: reachOf(columns.amps, n), ms: widestMs };
  let left = n;
  for (let pass = 0; pass < PASSES && left > 0.75 * n; pass++) {
    left = joined(columns, left, { ...reach, volts: reach.volts * 2 ** pass, amps: reach.amps * 2 ** pass });
  }
  return left;
}

function joined(columns: RowColumns, n: number, reach: { volts: number; amps: number; ms: number }): number {
  const { atMs, volts, amps } = columns;
  // Whether row i carries on at the next one; beyond the ends nothing is known, so nothing stands in the way.
  const quiet = (i: number) => i < 0 || i + 1 >= n || (near(volts, i, reach.volts) && near(amps, i, reach.amps));
  let to = 0;
  let before = true;
  for (let i = 0; i < n; to++) {
    const here = quiet(i);
    const after = quiet(i + 1);
    const pair: boolean =
      i + 1 < n && before && here && after && sameSetting(columns, i) && at(atMs, i + 1) - at(atMs, i) <= reach.ms;
    const [nextMs, nextVolts, nextAmps] = [at(atMs, i + 1), at(volts, i + 1), at(amps, i + 1)];
    const nextMode = columns.mode?.[i + 1] ?? UNKNOWN;
    move(columns, i, to);
    if (pair) {
      atMs[to] = (at(atMs, to) + nextMs) / 2;
      volts[to] = (at(volts, to) + nextVolts) / 2;
      amps[to] = (at(amps, to) + nextAmps) / 2;
      // A supply that is asked for its mode now and then says the same in between.
      if (columns.mode !== null && columns.mode[to] === UNKNOWN) columns.mode[to] = nextMode;
    }
    before = pair ? after : here;
    i += pair ? 2 : 1;
  }
  return to;
}

function move(columns: RowColumns, from: number, to: number): void {
  for (const column of [columns.atMs, columns.volts, columns.amps, columns.setVolts, columns.limitAmps]) {
    if (column !== null) column[to] = at(column, from);
  }
  if (columns.mode !== null) columns.mode[to] = columns.mode[from] ?? 0;
  if (columns.stage !== null) columns.stage[to] = columns.stage[from] ?? 255;
}

function sameSetting({ mode, stage, setVolts, limitAmps }: RowColumns, i: number): boolean {
  return (
    (mode === null || mode[i] === mode[i + 1] || mode[i] === UNKNOWN || mode[i + 1] === UNKNOWN) &&
    (stage === null || stage[i] === stage[i + 1]) &&
    (setVolts === null || Object.is(setVolts[i], setVolts[i + 1])) &&
    (limitAmps === null || Object.is(limitAmps[i], limitAmps[i + 1]))
  );
}

function near(values: Float64Array, i: number, reach: number): boolean {
  const [here, next] = [at(values, i), at(values, i + 1)];
  return Number.isNaN(here) ? Number.isNaN(next) : Math.abs(next - here) <= reach;
}

function reachOf(values: Float64Array, n: number): number {
  const noise = noiseOf(values.subarray(0, n));
  let [least, most] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  for (let i = 0; i < n; i++) {
    const value = at(values, i);
    if (value < least) least = value;
    if (value > most) most = value;
  }
  return Math.max(most > least ? SHARE * (most - least) : 0, Number.isFinite(noise) ? SIGMAS * noise : 0);
}

const at = (values: Float64Array, index: number): number => values[index] ?? Number.NaN;
