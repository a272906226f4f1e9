import { sayAmps, sayJoules, sayOhms, sayVolts } from "../../../shared/words/amounts.ts";
import type { Finding } from "./finding.ts";

/** The values that the look below 1 V settled at. `ohms` is without the leads where they are known, else an upper bound. */
export interface ShortSeen {
  feed: string;
  volts: number;
  amps: number;
  ohms: number;
  leadsKnown: boolean;
  limited: boolean;
  joules: number;
}

/** "0.12 V and 0.3 A, its limit: 0.31 Ω behind the leads, 14 mJ". */
export const sayShort = ({ feed, volts, amps, ohms, leadsKnown, limited, joules }: ShortSeen): string =>
  `${feed} shows ${sayVolts(volts)} at ${sayAmps(amps)}${limited ? ", its limit" : ""}: ${leadsKnown ? sayOhms(ohms) : `at most ${sayOhms(ohms)}, leads included,`} after ${sayJoules(joules)}`;

/** Conducts below 1 V like a piece of wire: a dead short. */
export const deadShort = (seen: ShortSeen): Finding => ({
  rule: "dead-short",
  feed: seen.feed,
  board: true,
  because: `${sayShort(seen)}: a dead short. Never raise the limit; find it with a low voltage`,
});
