import { at } from "./at.ts";

/**
 * The value below which a `share` (0…1) of the finite values lie: the one at index round(share·(n − 1)) of their order.
 * NaN where there is none. Linear on average (quickselect on a copy, middle of three as the pivot).
 */
export function quantileOf(values: ArrayLike<number>, share: number): number {
  const copy = Float64Array.from(values as ArrayLike<number>).filter(Number.isFinite);
  if (copy.length === 0) return Number.NaN;
  const wanted = Math.round(share * (copy.length - 1));
  let low = 0;
  let high = copy.length - 1;
  while (low < high) {
    const pivot = middleOf(at(copy, low), at(copy, (low + high) >> 1), at(copy, high));
    let left = low;
    let right = high;
    while (left <= right) {
      while (at(copy, left) < pivot) left++;
      while (at(copy, right) > pivot) right--;
      if (left <= right) {
        const held = at(copy, left);
        copy[left++] = at(copy, right);
        copy[right--] = held;
      }
    }
    if (wanted <= right) high = right;
    else if (wanted >= left) low = left;
    else break;
  }
  return at(copy, wanted);
}

/** The middle value; of an even number, the mean of the two in the middle. NaN where there is no finite value. */
export function medianOf(values: ArrayLike<number>): number {
  let n = 0;
  for (let i = 0; i < values.length; i++) if (Number.isFinite(at(values, i))) n++;
  if (n % 2 === 1) return quantileOf(values, 0.5);
  if (n === 0) return Number.NaN;
  if (n === 2) return (quantileOf(values, 0) + quantileOf(values, 1)) / 2;
  return (quantileOf(values, (n / 2 - 1) / (n - 1)) + quantileOf(values, n / 2 / (n - 1))) / 2;
}

const middleOf = (a: number, b: number, c: number): number => Math.max(Math.min(a, b), Math.min(Math.max(a, b), c));
