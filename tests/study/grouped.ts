/** Belief of groups of hypotheses: `groupOf[h]` is the group of hypothesis h, counted from zero. */
export function grouped(belief: readonly number[], groupOf: readonly number[]): number[] {
  const sums: number[] = [];
  belief.forEach((share, index) => {
    const group = groupOf[index] ?? 0;
    sums[group] = (sums[group] ?? 0) + share;
  });
  return Array.from(sums, (sum) => sum ?? 0);
}
