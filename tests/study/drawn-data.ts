import type { AnswerShares, FaultData, FaultRow } from "../../shared/fault-data.ts";
import type { Random } from "../../src/simulator/random.ts";

/**
 * The fault data as it is true of one board: every likelihood drawn anew about the shipped one, by a Dirichlet distribution whose weights
 * sum to `weight`. A likelihood that holds at several points, as what healthy points read, is drawn once for all of them.
 */
export function drawnData(data: FaultData, weight: number, random: Random): FaultData {
  const list = <T extends readonly number[]>(shares: T): T => spread(shares, weight, random) as unknown as T;
  const words = (shares: AnswerShares): AnswerShares => {
    const drawn = spread(Object.values(shares), weight, random);
    return Object.fromEntries(Object.keys(shares).map((word, at) => [word, drawn[at] ?? 0]));
  };
  const each = <V, W>(map: Record<string, V>, draw: (value: V) => W): Record<string, W> =>
    Object.fromEntries(Object.entries(map).map(([key, value]) => [key, draw(value)]));
  const one = (share: number): number => spread([share, 1 - share], weight, random)[0] ?? share;
  const row = (given: FaultRow): FaultRow => ({
    ...given,
    draw: list(given.draw),
    checks: each(given.checks, words),
    ...(given.chipRuns === undefined ? {} : { chipRuns: one(given.chipRuns) }),
  });
  const { states } = data;
  return {
    ...data,
    chipRuns: { healthy: one(data.chipRuns.healthy), behind: one(data.chipRuns.behind) },
    rows: data.rows.map(row),
    anyBoard: data.anyBoard.map(row),
    states: {
      ...states,
      coldDefault: list(states.coldDefault),
      coldWords: each(states.coldWords, list),
      pairDefault: list(states.pairDefault),
      openFeed: list(states.openFeed),
      voltsDefault: list(states.voltsDefault),
      voltsBehind: list(states.voltsBehind),
      voltsWords: each(states.voltsWords, list),
    },
    checks: each(data.checks, (check) => ({
      ...check,
      healthy: words(check.healthy),
      ...(check.behind === undefined ? {} : { behind: words(check.behind) }),
    })),
  };
}

/** Shares drawn about given shares: gamma variates of the shares times the weight, scaled. */
function spread(shares: readonly number[], weight: number, random: Random): number[] {
  const drawn = shares.map((share) => (share <= 0 ? 0 : gamma(share * weight, random)));
  const total = drawn.reduce((sum, each) => sum + each, 0);
  return total > 0 ? drawn.map((each) => each / total) : [...shares];
}

/** Gamma variate by Marsaglia and Tsang (from memory); shapes under 1 by the boost with a uniform. */
function gamma(shape: number, random: Random): number {
  if (shape < 1) return gamma(shape + 1, random) * random.next() ** (1 / shape);
  const d = shape - 1 / 3;
  const c = 1 / Math.sqrt(9 * d);
  for (;;) {
    const x = random.normal();
    const v = (1 + c * x) ** 3;
    if (v > 0 && Math.log(1 - random.next()) < 0.5 * x * x + d - d * v + d * Math.log(v)) return d * v;
  }
}
