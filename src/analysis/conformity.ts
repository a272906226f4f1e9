import { normalShareBelow } from "./normal-share.ts";

/**
 * Probability that the measured quantity lies within its limits, 0 to 1: Φ((T_U − y)/u) − Φ((T_L − y)/u) for a normal spread
 * with standard uncertainty `u` about the reading (JCGM 106:2012, 7.4). Left-out limits are none. With `u` zero it is 0 or 1.
 */
export function conformityProbability(reading: {
  value: number;
  standardUncertainty: number;
  low?: number | undefined;
  high?: number | undefined;
}): number {
  const { value, standardUncertainty: u, low = Number.NEGATIVE_INFINITY, high = Number.POSITIVE_INFINITY } = reading;
  if (u <= 0) return value >= low && value <= high ? 1 : 0;
  const below = (limit: number): number =>
    limit === Number.POSITIVE_INFINITY
      ? 1
      : limit === Number.NEGATIVE_INFINITY
        ? 0
        : normalShareBelow((limit - value) / u);
  return Math.max(0, below(high) - below(low));
}

/** Standard uncertainty of a reading whose error is anywhere within ± `halfWidth` alike: a/√3 (JCGM 100:2008, 4.3.7). */
export const rectangularUncertainty = (halfWidth: number): number => halfWidth / Math.sqrt(3);
