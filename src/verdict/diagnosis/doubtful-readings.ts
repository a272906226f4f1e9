import { grouped, normalised } from "./belief.ts";
import type { Measurement } from "./measurements.ts";

/** A reading this unlikely under the leading fault is not explained by it. */
const UNEXPLAINED = 0.15;
/** The leading fault rests on a reading without which it would stand at less than this share of where it stands. */
const RESTS_ON = 0.5;
/**
 * A second look that takes longer than a minute comes first only once a fault is likelier than all others together: before, nothing is
 * believed yet, and it is one measurement among many.
 */
const LIKELY = 0.5;
const CHEAP_MINUTES = 1;

/** A reading as it is weighed: how likely it is under each hypothesis, and what it was. */
export interface Weighed {
  proof: string;
  outcome: string;
  likelihood: readonly number[];
}

/**
 * Readings to take once more before they are believed or explained away: those the leading fault does not explain, and single odd ones
 * without which another fault would lead. One reading in thirty is a slip of the probe (common practice, no source). `lineOf[h]` is the
 * line of the answer of hypothesis h. A proof that was looked at twice is doubted no more. Answers with proofs, the least explained first.
 */
export function doubtfulReadings(
  belief: readonly number[],
  readings: readonly Weighed[],
  lineOf: readonly number[],
): string[] {
  const sums = grouped(belief, lineOf);
  const leader = sums.indexOf(Math.max(...sums));
  const looks = new Map<string, number>();
  for (const { proof } of readings) looks.set(proof, (looks.get(proof) ?? 0) + 1);
  const doubts: { proof: string; expected: number }[] = [];
  for (const { proof, outcome, likelihood } of readings) {
    if (looks.get(proof) !== 1) continue;
    const before = normalised(belief.map((share, index) => share / Math.max(likelihood[index] ?? 0, 1e-12)));
    const without = grouped(before, lineOf);
    const share = without[leader] ?? 0;
    const expected =
      before.reduce((sum, each, index) => sum + (lineOf[index] === leader ? each * (likelihood[index] ?? 0) : 0), 0) /
      Math.max(share, 1e-12);
    const isDecisive =
      outcome !== "normal" &&
      without.indexOf(Math.max(...without)) !== leader &&
      share < RESTS_ON * (sums[leader] ?? 0);
    if (expected < UNEXPLAINED || isDecisive) doubts.push({ proof, expected });
  }
  return doubts.sort((a, b) => a.expected - b.expected).map(({ proof }) => proof);
}

/**
 * The measurement that looks at a doubted proof once more, cheapest first; undefined where there is none left, or none that is worth to come
 * first while the leading line has this belief, `lead`.
 */
export const secondLookAt = (
  proof: string,
  measurements: readonly Measurement[],
  isOpen: (measurement: Measurement) => boolean,
  lead: number,
): Measurement | undefined =>
  measurements
    .filter((each) => each.proof === proof && each.look !== null && (lead >= LIKELY || each.minutes <= CHEAP_MINUTES))
    .filter(isOpen)
    .sort((a, b) => a.minutes - b.minutes)[0];
