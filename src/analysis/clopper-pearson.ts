/**
 * The exact upper confidence bound of a share (C. J. Clopper and E. S. Pearson, Biometrika 26 (1934) 404): the greatest share with
 * which `failures` or fewer of `n` still come about with probability 1 − `confidence`. One-sided. With no failure it is
 * 1 − (1 − confidence)^(1/n). 1 where all failed; NaN for n of 0.
 */
export function shareBelow(failures: number, n: number, confidence = 0.95): number {
  if (n <= 0) return Number.NaN;
  if (failures >= n) return 1;
  let [low, high] = [failures / n, 1];
  for (let step = 0; step < 100; step++) {
    const middle = (low + high) / 2;
    if (binomialAtMost(failures, n, middle) > 1 - confidence) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

/** Probability of at most `k` of `n` at share `p`, summed from logarithms so that large n do not vanish. */
function binomialAtMost(k: number, n: number, p: number): number {
  if (p <= 0) return 1;
  if (p >= 1) return k >= n ? 1 : 0;
  let term = n * Math.log1p(-p);
  let sum = Math.exp(term);
  for (let i = 1; i <= k; i++) {
    term += Math.log((n - i + 1) / i) + Math.log(p / (1 - p));
    sum += Math.exp(term);
  }
  return Math.min(1, sum);
}
