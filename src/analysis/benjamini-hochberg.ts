/**
 * The false-discovery rate at which each hypothesis would just be rejected: min over k ≥ rank of m·p(k)/k, at most 1. Those with a rate of at
 * most q are what the step-up procedure rejects at q (Y. Benjamini and Y. Hochberg, J. R. Stat. Soc. B 57 (1995) 289, eq. 1). In the order
 * of `pValues`.
 */
export function discoveryRates(pValues: readonly number[]): number[] {
  const m = pValues.length;
  const order = pValues.map((p, index) => ({ p, index })).sort((a, b) => b.p - a.p);
  const rates = new Array<number>(m).fill(1);
  let least = 1;
  order.forEach(({ p, index }, place) => {
    least = Math.min(least, (m * p) / (m - place));
    rates[index] = least;
  });
  return rates;
}
