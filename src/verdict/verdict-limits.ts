import type { DrawInput } from "../../shared/draw-input.ts";
import type { DrawClass } from "../../shared/draw-verdict.ts";
import type { DrawLimits } from "../../shared/files/draw-limits.ts";

/** Every number a verdict decides by, none left out. */
export type VerdictLimits = { [K in keyof DrawLimits]-?: NonNullable<DrawLimits[K]> };

/**
 * The shipped numbers. Common practice, no source, unless said otherwise; weak until a board file, a shop's settings or its
 * own confirmed jobs replace them.
 */
export const LIMITS: VerdictLimits = {
  /** Behind the leads, below this a feed is a dead short; below `partialShortOhms` it conducts where a healthy 12 V input does not. */
  deadShortOhms: 0.5,
  partialShortOhms: 100,
  /** The ohms that a pair of leads of unknown resistance may hide. */
  unknownLeadOhms: 0.15,
  /** A forward junction at the limit. */
  junctionVolts: [0.3, 0.9],
  /** An open input draws less than the greatest of this, three steps and three standard uncertainties. */
  openAmps: 0.003,
  /** Smallest input capacitance of a board without a description, farads. */
  leastInputFarads: 0.0001,
  mostInputFarads: 0.005,
  /** Share of the set volts: reached, and fallen again. */
  reachedShare: 0.9,
  fallenShare: 0.8,
  /** Retrying: so many pulses, so strong a repeat, so short a duty. */
  retryPulses: 4,
  retryStrength: 0.5,
  retryDuty: 0.6,
  /** Odds, before anything is read, that a draw which shows no pulses is a retry too fast to be seen. */
  retryPrior: 0.25,
  /** The movement of a healthy board's draw from reading to reading, as a share of itself: typical, often twice or half. */
  rippleShare: 0.004,
  /** Watches shorter than these: no class, a class with less trust. */
  leastWatchMs: 3000,
  fullWatchMs: 5000,
  /** Before anything is read, the share of draws that creep; how fast the slowest that is looked for begins, shares a minute. */
  creepPrior: 0.2,
  creepLeastPerMin: 0.08,
  /** The growth of a healthy board's draw while it warms: typical; 2–8 % with time constants of 60–300 s. */
  warmShare: 0.04,
  /** Above this multiple of the highest healthy band the draw is an overload. */
  overloadRatio: 1.5,
  /** Current that moves by more than this share of itself, without a step, is not a level. */
  unsteadyShare: 0.1,
  backFeedVolts: 0.3,
  /** The number of false alarms that one fault called healthy weighs as: doubt above 1/(1 + this) gives `cannot-tell`. */
  faultCalledHealthyCost: 3,
};

/** The numbers for one draw: the board's own before the shop's, the shop's before the shipped. */
export function limitsFor({ board, shop }: Pick<DrawInput, "board" | "shop">): VerdictLimits {
  return { ...LIMITS, ...given(shop?.drawLimits), ...given(board?.drawLimits) };
}

const given = (limits: DrawLimits | undefined): Partial<VerdictLimits> =>
  Object.fromEntries(Object.entries(limits ?? {}).filter(([, value]) => value !== undefined));

/**
 * Bands for a board without a description: one card's total 12 V current, no host, fans unplugged. Common practice, no source:
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
