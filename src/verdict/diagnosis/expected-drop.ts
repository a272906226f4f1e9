import { entropyBits } from "./belief.ts";

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
  /** Entropy of each row of `chance`, bits: what stays open in the outcome once the hypothesis is known. */
  noiseBits: readonly number[];
}

/**
 * Bits by which the entropy over the hypotheses is expected to fall when this measurement is taken: the mutual information
 * of outcome and hypothesis, never below zero. With `groupOf` (hypothesis to group, counted from zero) the entropy is over
 * groups: details within a group are then worth nothing.
 */
export function expectedDropBits(
  belief: readonly number[],
  choice: Pick<Choice, "chance" | "noiseBits">,
  groupOf?: readonly number[],
): number {
  const outcomes = choice.chance[0]?.length ?? 0;
  const total = new Float64Array(outcomes);
  const members: number[] = [];
  if (groupOf !== undefined) {
    for (let hypothesis = 0; hypothesis < belief.length; hypothesis++) {
      const group = groupOf[hypothesis] ?? 0;
      members[group] = (members[group] ?? 0) + 1;
    }
  }
  const groups = new Map<number, { size: number; sums: Float64Array }>();
  let noise = 0;
  for (let hypothesis = 0; hypothesis < belief.length; hypothesis++) {
    const share = belief[hypothesis] ?? 0;
    if (share < NEGLIGIBLE) continue;
    const row = choice.chance[hypothesis] ?? [];
    const group = groupOf?.[hypothesis] ?? 0;
    let sums: Float64Array | undefined;
    if (groupOf === undefined || members[group] === 1) noise += share * (choice.noiseBits[hypothesis] ?? 0);
    else {
      const found = groups.get(group) ?? { size: 0, sums: new Float64Array(outcomes) };
      found.size += share;
      groups.set(group, found);
      sums = found.sums;
    }
    for (let outcome = 0; outcome < outcomes; outcome++) {
      const joint = share * (row[outcome] ?? 0);
      total[outcome] = (total[outcome] ?? 0) + joint;
      if (sums !== undefined) sums[outcome] = (sums[outcome] ?? 0) + joint;
    }
  }
  for (const { size, sums } of groups.values()) noise += size * entropyOf(sums, size);
  return Math.max(0, entropyOf(total, 1) - noise);
}

/** Entropy of shares that sum to `size`, once scaled to sum to 1, bits. */
function entropyOf(shares: Float64Array, size: number): number {
  let bits = 0;
  for (let index = 0; index < shares.length; index++) {
    const share = (shares[index] ?? 0) / size;
    if (share > 0) bits -= share * Math.log2(share);
  }
  return bits;
}

/** Entropy of each row, for `Choice.noiseBits`. */
export const rowEntropies = (chance: readonly (readonly number[])[]): number[] => chance.map(entropyBits);

/** The cost of a measurement, minutes, each step of risk counted as `riskMinutes`. */
export const costOf = (choice: Choice, riskMinutes: number): number => choice.minutes + riskMinutes * choice.risk;
