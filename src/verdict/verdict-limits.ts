import type { DrawClass } from "../../shared/draw-verdict.ts";

/**
 * The numbers the draw verdict decides by. Common practice, no source, unless said otherwise; weak until a board file or
 * a shop's own confirmed jobs replace them.
 */
export const LIMITS = {
  /** Behind the leads, below this a feed is a dead short; below `partialShortOhms` it conducts where a healthy 12 V input does not. */
  deadShortOhms: 0.5,
  partialShortOhms: 100,
  doubtfulOhms: 1000,
  /** What a pair of leads of unknown resistance may hide. */
  unknownLeadOhms: 0.15,
  /** A forward junction at the limit. */
  junctionVolts: [0.3, 0.9],
  /** An open input draws less than the greatest of this, three steps and three standard uncertainties. */
  openAmps: 0.003,
  /** Smallest input capacitance of a board nobody described, farads. */
  leastInputFarads: 0.0001,
  mostInputFarads: 0.005,
  /** Share of the set volts: reached, and fallen again. */
  reachedShare: 0.9,
  fallenShare: 0.8,
  /** Retrying: so many pulses, so strong a repeat, so short a duty. */
  retryPulses: 4,
  retryStrength: 0.5,
  retryDuty: 0.6,
  /** Watches shorter than these: no class, a class with less trust. */
  leastWatchMs: 3000,
  fullWatchMs: 5000,
  /** Creeping, shares a minute: after `creepLongMs` of watch, and in a shorter one that does not flatten. */
  creepLongPerMin: 0.05,
  creepShortPerMin: 0.12,
  creepLongMs: 60_000,
  creepRatio: 1.5,
  /** Above this multiple of the highest healthy band the draw is an overload. */
  overloadRatio: 1.5,
  /** Current that moves by more than this share of itself, without a step, is not a level. */
  unsteadyShare: 0.1,
  backFeedVolts: 0.3,
} as const;

/**
 * Bands for a board nobody described: one card's total 12 V current, no host, fans unplugged. Common practice, no source:
 * weak priors. There is no `normal`, and above 3 A a big board and an overload cannot be told apart.
 */
export const DEFAULT_BANDS: Partial<Record<DrawClass, [number, number]>> = {
  "open-input": [0, 0.003],
  "standby-only": [0.003, 0.15],
  "partly-up": [0.15, 0.4],
  "core-alive": [0.5, 3],
};
/** The feeds these bands are for. */
export const DEFAULT_BAND_VOLTS = [10.5, 13.5] as const;
