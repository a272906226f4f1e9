import { type ShortSeen, sayShort } from "./dead-short.ts";
import type { Finding } from "./finding.ts";

/** Steady volts of a forward junction at the limit: reversed leads look like this (body diodes). */
export const checkPolarityFirst = (seen: ShortSeen): string =>
  seen.limited && seen.volts >= 0.3 && seen.volts <= 0.9 ? "Check the polarity of the leads first. " : "";

/**
 * Conducts below 1 V, where no converter runs: a partial short. `kind` is what the two-limit test said, null where it was
 * not done or did not tell.
 */
export function partialShort(seen: ShortSeen, kind: "ohmic" | null, note: string): Finding {
  const meant =
    kind === "ohmic" ? "the voltage follows the current, as in a resistor: a partial short" : "a partial short";
  return {
    rule: "partial-short",
    feed: seen.feed,
    board: true,
    because: `${checkPolarityFirst(seen)}${sayShort(seen)}; ${meant}${note === "" ? "" : `; ${note}`}`,
  };
}
