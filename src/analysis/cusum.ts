/**
 * One-sided tabular CUSUM: S = max(0, S + x − reference), x in standard deviations from target. Answers S after each
 * value and the index of the first S above `decision`, or null. `headStart` (default 0) is the fast initial response of
 * Lucas and Crosier 1982 (Technometrics 24, 199).
 */
export function cusumOf(
  values: readonly number[],
  options: { decision: number; reference: number; headStart?: number },
): { sums: number[]; signalAt: number | null } {
  const sums: number[] = [];
  let sum = options.headStart ?? 0;
  let signalAt: number | null = null;
  for (const value of values) {
    sum = Math.max(0, sum + value - options.reference);
    if (signalAt === null && sum > options.decision) signalAt = sums.length;
    sums.push(sum);
  }
  return { sums, signalAt };
}
