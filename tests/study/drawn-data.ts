import type { AnswerShares, FaultData, FaultRow } from "../../shared/files/fault-data.ts";
import { type Random, seededRandom, seedOf } from "../../src/simulator/random.ts";

/**
 * The fault data as it is true of one board: every likelihood drawn anew about the shipped one, by a Dirichlet distribution whose weights
 * sum to `weight`. A likelihood that holds at several points, as what healthy points read, is drawn once for all of them. Each is drawn by
 * its own name, so that a row or a check more leaves the rest of the board as it is.
 */
export function drawnData(data: FaultData, weight: number, seed: number): FaultData {
  const list = <T extends readonly number[]>(name: string, shares: T): T =>
    spread(shares, weight, seededRandom(seedOf(seed, name))) as unknown as T;
  const words = (name: string, shares: AnswerShares): AnswerShares => {
    const drawn = list(name, Object.values(shares));
    return Object.fromEntries(Object.keys(shares).map((word, at) => [word, drawn[at] ?? 0]));
  };
  const each = <V, W>(name: string, map: Record<string, V>, draw: (name: string, value: V) => W): Record<string, W> =>
    Object.fromEntries(Object.entries(map).map(([key, value]) => [key, draw(`${name} ${key}`, value)]));
  const one = (name: string, share: number): number => list(name, [share, 1 - share])[0] ?? share;
  const row = (given: FaultRow): FaultRow => ({
    ...given,
    draw: list(`${given.id} draw`, given.draw),
    checks: each(given.id, given.checks, words),
    ...(given.chipRuns === undefined ? {} : { chipRuns: one(`${given.id} runs`, given.chipRuns) }),
  });
  const { states } = data;
  return {
    ...data,
    chipRuns: { healthy: one("runs", data.chipRuns.healthy), behind: one("runs behind", data.chipRuns.behind) },
    rows: data.rows.map(row),
    anyBoard: data.anyBoard.map(row),
    states: {
      ...states,
      coldDefault: list("cold", states.coldDefault),
      coldWords: each("cold", states.coldWords, list),
      pairDefault: list("pair", states.pairDefault),
      openFeed: list("open feed", states.openFeed),
      voltsDefault: list("volts", states.voltsDefault),
      voltsBehind: list("volts behind", states.voltsBehind),
      voltsWords: each("volts", states.voltsWords, list),
    },
    checks: Object.fromEntries(
      Object.entries(data.checks).map(([name, check]) => [
        name,
        {
          ...check,
          healthy: words(`${name} healthy`, check.healthy),
          ...(check.behind === undefined ? {} : { behind: words(`${name} behind`, check.behind) }),
        },
      ]),
    ),
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
