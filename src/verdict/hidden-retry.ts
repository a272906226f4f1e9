import { sayMs, sayShare } from "../../shared/words/amounts.ts";
import { at } from "../analysis/at.ts";
import { trendOf } from "../analysis/trend.ts";
import type { Watch } from "./watch.ts";

interface HiddenRetry {
  probability: number;
  says: string;
}

/** A board's own restlessness differs by this, standard deviation of its logarithm; a retry's may be anything up to all of the draw. */
const RIPPLE_SIGMA = 0.8;
/** Periods of retries, ms: 7 to 2500 (common practice, no source), evenly on a logarithmic scale. */
const PERIODS_MS = [7, 2500] as const;
/** Less than this and a meter's own noise is not known well enough to take it off, amps. */
const LEAST_AMPS = 0.002;
/** The start of a watch belongs to rails and fans coming up; so long, or half of a short watch. */
const START_MS = 3000;

/**
 * Probability that a steady draw is a retry too quick for this meter, by how restless it is: what the draw moves beyond the meter's own noise,
 * as a share of itself, is likelier from a converter that pulses than from a healthy board the greater it is (Bayes). Below what
 * the meter shows it tells nothing. Null for a meter that reads quickly enough to see every retry.
 */
export function hiddenRetry(watch: Watch): HiddenRetry | null {
  const interval = watch.intervalMs ?? 0;
  const { retryPrior, rippleShare } = watch.limits;
  const [shortest, longest] = PERIODS_MS;
  const hidden = Math.log(Math.max(1, (3 * interval) / shortest)) / Math.log(longest / shortest);
  const level = Math.abs(watch.level.mean);
  if (!(hidden > 0) || !(level > 0)) return null;
  const floor = Math.hypot(watch.ownNoiseAmps ?? LEAST_AMPS, 0.5 * watch.stepAmps, LEAST_AMPS);
  const moves = Math.sqrt(Math.max(0, scatterOf(watch) ** 2 - floor ** 2)) / level;
  // Only a movement above all that the meter adds is one.
  const share = moves * level > floor ? moves : 0;
  const odds = (Math.min(1, hidden) * retryPrior * likelihoodRatio(share, rippleShare)) / (1 - retryPrior);
  return {
    probability: odds / (1 + odds),
    says: `A converter that retries in under ${sayMs(3 * interval)} would look like this level to a meter that reads every ${sayMs(interval)}${
      share > 2 * rippleShare ? `, and this level moves by ${sayShare(share)} from reading to reading` : ""
    }.`,
  };
}

/** Density of the movement's logarithm from a retry, even from the healthy ripple to all of the draw, over that of a healthy board. */
function likelihoodRatio(share: number, ripple: number): number {
  // A retry that a filter smooths away moves as little as a healthy board.
  if (share <= ripple) return 0.5;
  const off = Math.log(share / ripple) / RIPPLE_SIGMA;
  const healthy = Math.exp((-off * off) / 2) / (RIPPLE_SIGMA * Math.sqrt(2 * Math.PI));
  return Math.max(0.5, 1 / -Math.log(ripple) / Math.max(healthy, 1e-6));
}

/** Standard deviation of the readings about their slow course, the start left out. */
function scatterOf(watch: Watch): number {
  const { atMs, amps } = watch;
  const begin = watch.startMs + Math.min(START_MS, watch.lengthMs / 2);
  const from = watch.stretches[watch.stretches.length - 1]?.from ?? 0;
  const trend = trendOf(atMs.subarray(from), amps.subarray(from));
  let [n, squares] = [0, 0];
  for (let i = from; i < amps.length; i++) {
    if (at(atMs, i) < begin) continue;
    n++;
    squares += (at(amps, i) - trend(at(atMs, i))) ** 2;
  }
  return n < 5 ? 0 : Math.sqrt(squares / n);
}
