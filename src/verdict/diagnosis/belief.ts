/** The shares scaled so that they sum to 1; all equal where nothing is left of any. */
export function normalised(shares: readonly number[]): number[] {
  const sum = shares.reduce((total, each) => total + each, 0);
  return shares.map((each) => (sum > 0 ? each / sum : 1 / shares.length));
}

/** −Σ p·log2 p, bits; 0 for a certainty. Negative and zero shares count as none. */
export function entropyBits(shares: readonly number[]): number {
  let bits = 0;
  for (const share of shares) if (share > 0) bits -= share * Math.log2(share);
  return bits;
}

/**
 * Belief in each hypothesis after one reading, by Bayes. `likelihood[h]` is the chance of that reading under hypothesis h;
 * where it is zero for all that were left, the belief stays as it was.
 */
export function updated(belief: readonly number[], likelihood: readonly number[]): number[] {
  const products = belief.map((share, index) => share * (likelihood[index] ?? 0));
  return products.some((each) => each > 0) ? normalised(products) : [...belief];
}

/** Belief of groups of hypotheses: `groupOf[h]` is the group of hypothesis h, counted from zero. */
export function grouped(belief: readonly number[], groupOf: readonly number[]): number[] {
  const sums: number[] = [];
  belief.forEach((share, index) => {
    const group = groupOf[index] ?? 0;
    sums[group] = (sums[group] ?? 0) + share;
  });
  return Array.from(sums, (sum) => sum ?? 0);
}
