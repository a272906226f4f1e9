/** Hypotheses under this belief are left out of the sums: together they are worth less than the last digit shown. */
const NEGLIGIBLE = 1e-7;

/** A measurement as the chooser sees it: what it costs, and the chance of each outcome under each hypothesis. */
export interface Choice {
  id: string;
  minutes: number;
  /** 0 none to 3. */
  risk: number;
  /** The board has to be powered for it. */
  energises: boolean;
  /** `chance[hypothesis][outcome]`; each row sums to 1. */
  chance: readonly (readonly number[])[];
}

/**
 * Bits by which the entropy over the hypotheses is expected to fall when this measurement is taken: the mutual information
 * of outcome and hypothesis, never below zero. With `groupOf` (hypothesis to group, counted from zero) the entropy is over
 * groups: details within a group are then worth nothing.
 */
export function expectedDropBits(
  belief: readonly number[],
  { chance }: Pick<Choice, "chance">,
  groupOf?: readonly number[],
): number {
  const outcomes = chance[0]?.length ?? 0;
  const groups = groupOf === undefined ? belief.length : countOf(groupOf);
  const joint = scratch(groups * outcomes);
  for (let hypothesis = 0; hypothesis < belief.length; hypothesis++) {
    const share = belief[hypothesis] ?? 0;
    if (share < NEGLIGIBLE) continue;
    const row = chance[hypothesis] ?? [];
    const at = (groupOf === undefined ? hypothesis : (groupOf[hypothesis] ?? 0)) * outcomes;
    for (let outcome = 0; outcome < outcomes; outcome++)
      joint[at + outcome] = (joint[at + outcome] ?? 0) + share * (row[outcome] ?? 0);
  }
  const ofOutcome = new Float64Array(outcomes);
  let whole = 0;
  let bits = 0;
  for (let group = 0; group < groups; group++) {
    let ofGroup = 0;
    for (let outcome = 0; outcome < outcomes; outcome++) {
      const share = joint[group * outcomes + outcome] ?? 0;
      if (share <= 0) continue;
      bits += share * Math.log2(share);
      ofGroup += share;
      ofOutcome[outcome] = (ofOutcome[outcome] ?? 0) + share;
    }
    if (ofGroup > 0) bits -= ofGroup * Math.log2(ofGroup);
    whole += ofGroup;
  }
  for (const share of ofOutcome) if (share > 0) bits -= share * Math.log2(share);
  if (whole > 0) bits += whole * Math.log2(whole);
  return Math.max(0, bits);
}

const counts = new WeakMap<readonly number[], number>();

/** How many groups there are; counted once for a list. */
function countOf(groupOf: readonly number[]): number {
  const known = counts.get(groupOf) ?? 1 + groupOf.reduce((most, group) => Math.max(most, group), 0);
  counts.set(groupOf, known);
  return known;
}

let kept = new Float64Array(0);

/** Room for so many numbers, all zero; the same room each time, since thousands are asked for in a second. */
function scratch(size: number): Float64Array {
  if (kept.length < size) kept = new Float64Array(size);
  return kept.fill(0, 0, size);
}

/** The cost of a measurement, minutes, each step of risk counted as `riskMinutes`. */
export const costOf = (choice: Choice, riskMinutes: number): number => choice.minutes + riskMinutes * choice.risk;
