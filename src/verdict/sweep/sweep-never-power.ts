import { sayOhms } from "../../../shared/amounts.ts";
import type { BoardFile } from "../../../shared/board-file.ts";
import type { ColdReadings } from "../../../shared/permit.ts";
import { coldOhmsOf } from "../../analysis/cold-readings.ts";

/** Two readings that agree this well, or within the residue of the test leads, are the same resistance. */
const SAME_SHARE = 0.2;
const LEAD_RESIDUE_OHMS = 0.3;
/** Under this from an input to a core or memory rail never (common practice, no source). */
const PAIR_NEVER_OHMS = 20;
/** An input under this is never powered; by the tool's own rule, stricter than practice. */
const TWELVE_NEVER_OHMS = 100;
const INPUT_NEVER_OHMS = 10;

/**
 * Why a board with these cold readings must not be powered, in sentences by point: inputs that read as a short, and pairs
 * that read as one of their own ends does, which is a switch shorted through.
 */
export function neverPower(board: BoardFile, cold: ColdReadings): Map<string, string> {
  const found = new Map<string, string>();
  const core = coldOhmsOf(cold, "core");
  for (const [feed, { nominalVolts }] of Object.entries(board.feeds)) {
    const ohms = coldOhmsOf(cold, feed);
    if (ohms === null) continue;
    const least = nominalVolts >= 9 ? TWELVE_NEVER_OHMS : INPUT_NEVER_OHMS;
    if (core !== null && core < least && isSame(ohms, core)) {
      found.set(feed, `${feed} reads ${sayOhms(ohms)}, as the core itself: a shorted high side; never power it`);
    } else if (ohms < least) found.set(feed, `${feed} reads ${sayOhms(ohms)}, under ${sayOhms(least)}; never power it`);
  }
  for (const [pair, least] of Object.entries(board.coldPairs)) {
    const ohms = coldOhmsOf(cold, pair);
    if (ohms === null || ohms >= least) continue;
    const [from = "", to = ""] = pair.split(":");
    const own = coldOhmsOf(cold, to);
    if (own !== null && isSame(ohms, own)) {
      found.set(
        pair,
        `${from} to ${to} reads ${sayOhms(ohms)}, as ${to} itself: a shorted high side would put ${from} on ${to}; never power it`,
      );
    } else if (ohms < PAIR_NEVER_OHMS) {
      found.set(
        pair,
        `${from} to ${to} reads ${sayOhms(ohms)}: a shorted switch would put ${from} on ${to}; never power it`,
      );
    }
  }
  return found;
}

const isSame = (a: number, b: number): boolean =>
  Math.abs(a - b) <= Math.max(SAME_SHARE * Math.max(a, b), LEAD_RESIDUE_OHMS);
