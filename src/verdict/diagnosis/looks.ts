/**
 * Several looks at one point. The point has one state; each look sees it, unless the probe slipped. A healthy point reads oddly now and
 * then: half of that is the look's (contact, charge, the meter's range) and half the board's (common practice, no source).
 */

/** Above this share of "normal" a point is healthy under a hypothesis, and the rest is oddness. */
const HEALTHY_SHARE = 0.8;
/** Share of odd readings of a healthy point that the next look does not see again; a healthy point does not go on reading short. */
const PASSING_SHARES = [1, 0.5, 0, 0.5] as const;
/** Place of "normal" among the states of cold ohms and of volts. */
const NORMAL = 2;

/** The properties of a look at a point. */
export interface LookKind {
  /** Share of looks that are slips. */
  slip: number;
  /** The reading of a slip: shares of the outcomes. */
  slipShows: readonly number[];
  /** True where a healthy point reads oddly now and then. */
  isOddAtTimes: boolean;
}

/** Chance of each outcome of one look under one hypothesis, given its chance of each state, before any look. */
export function firstLook(states: readonly number[], kind: LookKind): number[] {
  return states.map((share, state) => (1 - kind.slip) * share + kind.slip * (kind.slipShows[state] ?? 0));
}

/**
 * Chance of each outcome of the next look, given what earlier looks came nearest to. `states` is the chance of each state under one
 * hypothesis; `earlier` are shares of the outcomes, one list a look. Without earlier looks it is `firstLook`.
 */
export function nextLook(states: readonly number[], kind: LookKind, earlier: readonly (readonly number[])[]): number[] {
  if (earlier.length === 0) return firstLook(states, kind);
  const parts = partsOf(states, kind);
  const after = parts.map(({ prior, shows }) => earlier.reduce((sum, weights) => sum * dot(shows, weights), prior));
  const total = after.reduce((sum, each) => sum + each, 0);
  if (total <= 0) return firstLook(states, kind);
  return states.map((_, outcome) =>
    parts.reduce((sum, { shows }, part) => sum + ((after[part] ?? 0) / total) * (shows[outcome] ?? 0), 0),
  );
}

/** The states a point may be in, each with what one look shows of it. */
function partsOf(states: readonly number[], kind: LookKind): { prior: number; shows: number[] }[] {
  const normal = states[NORMAL] ?? 0;
  const isPassing = kind.isOddAtTimes && normal > HEALTHY_SHARE;
  const passing = states.map((_, state) => (isPassing ? (PASSING_SHARES[state] ?? 0) : 0));
  const stays = states.map((share, state) => (state === NORMAL ? 0 : share * (1 - (passing[state] ?? 0))));
  const left = 1 - stays.reduce((sum, each) => sum + each, 0);
  const slipped = (shares: readonly number[]): number[] =>
    shares.map((share, at) => (1 - kind.slip) * share + kind.slip * (kind.slipShows[at] ?? 0));
  return states.map((share, state) => {
    if (state !== NORMAL)
      return { prior: stays[state] ?? 0, shows: slipped(states.map((_, at) => Number(at === state))) };
    const shows = states.map((each, at) => (at === NORMAL ? share : each * (passing[at] ?? 0)) / (left > 0 ? left : 1));
    return { prior: left, shows: slipped(left > 0 ? shows : states.map((_, at) => Number(at === NORMAL))) };
  });
}

const dot = (a: readonly number[], b: readonly number[]): number =>
  a.reduce((sum, each, at) => sum + each * (b[at] ?? 0), 0);
