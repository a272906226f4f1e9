/** Likelihood of a reading under each hypothesis: its shares of the outcomes against the chance of each. */
export const weigh = (chance: readonly (readonly number[])[], weights: readonly number[]): number[] =>
  chance.map((row) => row.reduce((sum, share, outcome) => sum + share * (weights[outcome] ?? 0), 0));

/** Shares with a slip mixed in: with that chance the reading is any of the outcomes. */
export const slipped = (shares: readonly number[], slip: number): number[] =>
  shares.map((share) => (1 - slip) * share + slip / shares.length);

/** The word of the outcome with the largest share. */
export const wordOf = (weights: readonly number[], words: readonly string[]): string =>
  words[weights.indexOf(Math.max(...weights))] ?? "unknown";
