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
  const { chance, healthyShows } = beforeLooks(states, kind);
  for (const seen of earlier) {
    const bySlip = kind.slip * dot(kind.slipShows, seen);
    const byHealthy = dot(healthyShows, seen);
    for (let state = 0; state < chance.length; state++) {
      const byState = state === NORMAL ? byHealthy : (seen[state] ?? 0);
      chance[state] = (chance[state] ?? 0) * ((1 - kind.slip) * byState + bySlip);
    }
  }
  const total = chance.reduce((sum, each) => sum + each, 0);
  if (total <= 0) return firstLook(states, kind);
  const healthy = (chance[NORMAL] ?? 0) / total;
  const shown = chance.map(
    (each, state) => (state === NORMAL ? 0 : each / total) + healthy * (healthyShows[state] ?? 0),
  );
  return firstLook(shown, kind);
}

/** The chance of each state before any look, and what a look that is no slip shows of a healthy point; any other state shows itself. */
function beforeLooks(states: readonly number[], kind: LookKind): { chance: number[]; healthyShows: number[] } {
  const isPassing = kind.isOddAtTimes && (states[NORMAL] ?? 0) > HEALTHY_SHARE;
  const passing = (state: number): number => (isPassing ? (PASSING_SHARES[state] ?? 0) : 0);
  const chance = states.map((share, state) => (state === NORMAL ? 0 : share * (1 - passing(state))));
  const healthy = 1 - chance.reduce((sum, each) => sum + each, 0);
  chance[NORMAL] = healthy;
  const healthyShows = states.map((share, state) => {
    if (healthy <= 0) return Number(state === NORMAL);
    return (state === NORMAL ? share : share * passing(state)) / healthy;
  });
  return { chance, healthyShows };
}

function dot(a: readonly number[], b: readonly number[]): number {
  let sum = 0;
  for (let at = 0; at < a.length; at++) sum += (a[at] ?? 0) * (b[at] ?? 0);
  return sum;
}
