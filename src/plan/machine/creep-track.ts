/** One-second means of a feed's current through a watch, and the level since the last step. */
export interface CreepTrack {
  /** Newest last, at most two minutes of them. */
  means: readonly number[];
  /** The number of the newest that belong to the level that holds now. */
  sinceStep: number;
  /** Mean of the first seconds after the last step; null until there are three. */
  levelAmps: number | null;
  sum: number;
  count: number;
  fromMs: number;
}

const BIN_MS = 1000;
const KEPT = 120;
const LEVEL_BINS = 3;

export const freshCreep = (fromMs: number): CreepTrack => ({
  means: [],
  sinceStep: 0,
  levelAmps: null,
  sum: 0,
  count: 0,
  fromMs,
});

/**
 * The track with one reading more. A step is a change between two seconds of over 10 % and three read-back steps that is
 * three times the change before it: a climb that grows by itself is none.
 */
export function withAmps(track: CreepTrack, amps: number, atMs: number, stepAmps: number): CreepTrack {
  if (atMs - track.fromMs < BIN_MS || track.count === 0)
    return { ...track, sum: track.sum + amps, count: track.count + 1 };
  const mean = track.sum / track.count;
  const [beforeLast, last] =
    track.means.slice(-2).length === 2 ? track.means.slice(-2) : [undefined, track.means.at(-1)];
  const change = last === undefined ? 0 : Math.abs(mean - last);
  const changeBefore = last === undefined || beforeLast === undefined ? 0 : Math.abs(last - beforeLast);
  const stepped =
    last !== undefined && change > Math.max(0.1 * Math.abs(last), 3 * stepAmps) && change > 3 * changeBefore;
  const means = [...track.means, mean].slice(-KEPT);
  const sinceStep = stepped ? 0 : Math.min(KEPT, track.sinceStep + 1);
  const level = sinceStep === LEVEL_BINS ? meanOf(means.slice(-LEVEL_BINS)) : stepped ? null : track.levelAmps;
  return { means, sinceStep, levelAmps: level, sum: amps, count: 1, fromMs: atMs };
}

const meanOf = (values: readonly number[]): number =>
  values.reduce((sum, each) => sum + each, 0) / Math.max(1, values.length);

/** Mean of the newest three seconds, amps; null while there are fewer since the last step. */
export const levelNow = (track: CreepTrack): number | null =>
  track.sinceStep < LEVEL_BINS ? null : meanOf(track.means.slice(-LEVEL_BINS));

/** Least-squares slope of one-second means, as a share of their mean each minute; 0 for a mean that is not above 0. */
export function slopePerMin(means: readonly number[]): number {
  const mean = meanOf(means);
  if (!(mean > 0) || means.length < 2) return 0;
  const middle = (means.length - 1) / 2;
  const top = means.reduce((sum, each, index) => sum + (index - middle) * (each - mean), 0);
  const bottom = means.reduce((sum, _, index) => sum + (index - middle) ** 2, 0);
  return (60 * top) / bottom / mean;
}

/** Whether the newest two seconds agree within 2 % and two read-back steps; true where there are fewer than three. */
export function isSettled(track: CreepTrack, stepAmps: number): boolean {
  const [before, last] = track.means.slice(-2);
  if (before === undefined || last === undefined || track.means.length < 3) return true;
  return Math.abs(last - before) <= Math.max(0.02 * Math.abs(last), 2 * stepAmps);
}
