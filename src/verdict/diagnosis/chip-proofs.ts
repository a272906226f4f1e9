import type { Evidence } from "./evidence.ts";

/** A reading is a proof where it is this many times likelier with the fault than with what else it may be. */
const PROOF_RATIO = 3;
/** The number of proofs before a chip is condemned (common practice, no source). */
export const PROOFS_ASKED = 2;

/**
 * The number of independent readings that point to a chip fault: readings of different kinds or at different points, each at least
 * three times likelier under `members` (hypotheses of that fault) than under all others, weighed by their belief.
 */
export function chipProofs(
  members: readonly number[],
  belief: readonly number[],
  evidence: readonly Evidence[],
  isChip: (hypothesis: number) => boolean,
): number {
  const inside = new Set(members);
  const proofs = new Set<string>();
  for (const each of evidence) {
    let within = 0;
    let withinShare = 0;
    let without = 0;
    let withoutShare = 0;
    belief.forEach((share, hypothesis) => {
      const likelihood = each.likelihood[hypothesis] ?? 0;
      // Belief without this reading, so that a reading does not argue for itself.
      const before = likelihood > 0 ? share / likelihood : 0;
      if (inside.has(hypothesis)) {
        within += before * likelihood;
        withinShare += before;
      } else if (!isChip(hypothesis)) {
        without += before * likelihood;
        withoutShare += before;
      }
    });
    if (withinShare <= 0 || withoutShare <= 0) continue;
    if (within / withinShare >= PROOF_RATIO * (without / withoutShare)) proofs.add(each.proof);
  }
  return proofs.size;
}
