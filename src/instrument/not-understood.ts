import type { InstrumentSession } from "./session.ts";

/**
 * After how long without an answer a question counts as not understood, milliseconds: ten times what the identity took,
 * at least 150 ms and at most 1 s, so that a slow instrument is not taken for one that does not know the words.
 */
export const notUnderstoodMs = ({ roundTrip }: Pick<InstrumentSession, "roundTrip">): number =>
  Math.min(1000, Math.max(150, 10 * (roundTrip.p50Ms ?? 0)));
