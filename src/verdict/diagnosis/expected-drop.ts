import { entropyBits } from "./belief.ts";

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
  const groups: Float64Array[] = [];
  const sizes: number[] = [];
  let noise = 0;
  for (let hypothesis = 0; hypothesis < belief.length; hypothesis++) {
    const share = belief[hypothesis] ?? 0;
    if (share <= 0) continue;
    const row = choice.chance[hypothesis];
    const group = groupOf?.[hypothesis] ?? 0;
    if (groupOf !== undefined) {
      groups[group] ??= new Float64Array(outcomes);
      sizes[group] = (sizes[group] ?? 0) + share;
    } else noise += share * (choice.noiseBits[hypothesis] ?? 0);
    const sums = groups[group];
    for (let outcome = 0; outcome < outcomes; outcome++) {
      const joint = share * (row?.[outcome] ?? 0);
      total[outcome] = (total[outcome] ?? 0) + joint;
      if (sums !== undefined) sums[outcome] = (sums[outcome] ?? 0) + joint;
    }
  }
  groups.forEach((sums, group) => {
    const size = sizes[group] ?? 0;
    noise += size * entropyBits(Array.from(sums, (each) => each / size));
  });
  return Math.max(0, entropyBits([...total]) - noise);
}

/** Entropy of each row, for `Choice.noiseBits`. */
export const rowEntropies = (chance: readonly (readonly number[])[]): number[] => chance.map(entropyBits);

/** What a measurement costs, minutes, each step of risk counted as `riskMinutes`. */
export const costOf = (choice: Choice, riskMinutes: number): number => choice.minutes + riskMinutes * choice.risk;
