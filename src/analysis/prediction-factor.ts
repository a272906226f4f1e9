/**
 * k of a 95 % prediction interval from n normal values: the next one lies within mean ± k·s. k = t₀.₉₇₅,ₙ₋₁·√(1 + 1/n);
 * infinite for n < 2.
 */
export function predictionFactor(n: number): number {
  return n < 2 ? Number.POSITIVE_INFINITY : studentQuantile975(n - 1) * Math.sqrt(1 + 1 / n);
}

/** t with 97.5 % of Student's distribution below, by halving; the share is exact for whole degrees of freedom. */
export function studentQuantile975(degrees: number): number {
  let [low, high] = [0, 20];
  for (let i = 0; i < 80; i++) {
    const middle = (low + high) / 2;
    if (shareWithin(middle, degrees) < 0.95) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

/** P(|T| ≤ t) for whole degrees of freedom (Abramowitz and Stegun 26.7.3 and 26.7.4). */
function shareWithin(t: number, degrees: number): number {
  const theta = Math.atan(t / Math.sqrt(degrees));
  const cos2 = Math.cos(theta) ** 2;
  let term = 1;
  let sum = 0;
  if (degrees % 2 === 0) {
    for (let k = 0; k <= degrees - 2; k += 2) {
      sum += term;
      term *= ((k + 1) / (k + 2)) * cos2;
    }
    return Math.sin(theta) * sum;
  }
  if (degrees === 1) return (2 * theta) / Math.PI;
  for (let k = 1; k <= degrees - 2; k += 2) {
    sum += term;
    term *= ((k + 1) / (k + 2)) * cos2;
  }
  return (2 / Math.PI) * (theta + Math.sin(theta) * Math.cos(theta) * sum);
}
