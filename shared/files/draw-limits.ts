import { z } from "zod";

const positive = z.number().positive().max(1e6);
const share = z.number().min(0).max(1);

/**
 * The numbers a draw verdict decides by. All may be left out; what is left out has the shipped value, which is common
 * practice of the trade and weak (`src/verdict/verdict-limits.ts` says what each is). A board file gives those of its kind of
 * board, a shop's settings those of the shop.
 */
export const DrawLimits = z.strictObject({
  deadShortOhms: positive.optional(),
  partialShortOhms: positive.optional(),
  unknownLeadOhms: z.number().min(0).max(10).optional(),
  junctionVolts: z.tuple([positive, positive]).optional(),
  openAmps: positive.optional(),
  leastInputFarads: positive.optional(),
  mostInputFarads: positive.optional(),
  reachedShare: share.optional(),
  fallenShare: share.optional(),
  retryPulses: z.number().int().min(2).max(100).optional(),
  retryStrength: share.optional(),
  retryDuty: share.optional(),
  retryPrior: share.optional(),
  rippleShare: share.optional(),
  leastWatchMs: positive.optional(),
  fullWatchMs: positive.optional(),
  creepPrior: share.optional(),
  creepLeastPerMin: positive.optional(),
  warmShare: share.optional(),
  overloadRatio: z.number().min(1).max(100).optional(),
  unsteadyShare: share.optional(),
  backFeedVolts: positive.optional(),
  faultCalledHealthyCost: z.number().min(1).max(1000).optional(),
});
export type DrawLimits = z.infer<typeof DrawLimits>;
