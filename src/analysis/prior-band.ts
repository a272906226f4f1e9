import { studentQuantile975 } from "./prediction-factor.ts";
import { univariateOf } from "./univariate.ts";

/** The readings of another shop on good boards of the kind: how many, the mean of their means, how those differ. */
export interface BoardsElsewhere {
  boards: number;
  meanAmps: number;
  /** Standard deviation between its boards, amps; null for one board. */
  betweenAmps: number | null;
  /** Standard uncertainty of its readings against those of here, amps. */
  standardU: number;
}

export interface PriorBand {
  low: number;
  high: number;
  /** Boards that the band rests on, those of other shops counted by their weight. */
  weight: number;
}

/** A board of another shop counts as so much of one of one's own, and all of them together as at most so many (common practice, no source). */
export const ELSEWHERE_SHARE = 0.25;
export const MOST_ELSEWHERE = 10;
/** With less than so many boards, all weighed, there is no band. */
const LEAST_WEIGHT = 3;

/**
 * The range in which the next good board draws with 95 %, from one's own boards (their means, amps) and what other shops read, which is weighed as a
 * power prior: its likelihood to the power a, a = min(0.25, 10 / their boards) (Ibrahim and Chen, "Power prior distributions for
 * regression models", Statistical Science 15, 2000, 46-60). For normal values with unknown mean and spread (Gelman et al.,
 * "Bayesian Data Analysis", 3rd edition, 3.3; both from memory) that gives, with N boards elsewhere, n here, W = aN + n:
 * mean m = (a Σ Nᵢ mᵢ + n m̄) / W; squares S = a Σ [(Nᵢ - 1) sᵢ² + Nᵢ uᵢ² + Nᵢ (mᵢ - m)²] + Σ (x - m)²; band m ± t₀.₉₇₅,ᵥ √(S / v · (1 + 1/W)),
 * v = W - 1, rounded down. uᵢ is what the other shop's instruments may be off against one's own. With a = 1 and u = 0 it is the prediction interval
 * over all boards as if they were one's own. Shops that disagree widen it. Null where W is under 3.
 */
export function priorBandOf(own: readonly number[], elsewhere: readonly BoardsElsewhere[]): PriorBand | null {
  const others = elsewhere.reduce((sum, { boards }) => sum + boards, 0);
  const share = others === 0 ? 0 : Math.min(ELSEWHERE_SHARE, MOST_ELSEWHERE / others);
  return weighed(own, elsewhere, share);
}

/** As `priorBandOf`, with a given share. */
export function weighed(
  own: readonly number[],
  elsewhere: readonly BoardsElsewhere[],
  share: number,
): PriorBand | null {
  const others = elsewhere.reduce((sum, { boards }) => sum + boards, 0);
  const weight = share * others + own.length;
  if (weight < LEAST_WEIGHT) return null;
  const ownMean = own.length === 0 ? 0 : univariateOf(own).mean;
  const mean =
    (share * elsewhere.reduce((sum, { boards, meanAmps }) => sum + boards * meanAmps, 0) + own.length * ownMean) /
    weight;
  let squares = 0;
  for (const { boards, meanAmps, betweenAmps, standardU } of elsewhere)
    squares +=
      share * ((boards - 1) * (betweenAmps ?? 0) ** 2 + boards * standardU ** 2 + boards * (meanAmps - mean) ** 2);
  for (const amps of own) squares += (amps - mean) ** 2;
  const half = studentQuantile975(Math.floor(weight - 1)) * Math.sqrt((squares / (weight - 1)) * (1 + 1 / weight));
  return { low: mean - half, high: mean + half, weight };
}
