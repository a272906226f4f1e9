import { at } from "./at.ts";

/** More values than this are judged by an evenly spread sample: its ranks are off by well under 1 %, and a long trace stays quick. */
const MOST_VALUES = 50_000;

/**
 * The value below which a `share` (0…1) of the finite values lie: the one at index round(share·(n − 1)) of their order;
 * 0 is the least and 1 the greatest, exactly. NaN where there is none. Linear on average (quickselect on a copy).
 */
export function quantileOf(values: ArrayLike<number>, share: number): number {
  if (share <= 0 || share >= 1) return extremeOf(values, share);
  const copy = finiteSample(values);
  return copy.length === 0 ? Number.NaN : selected(copy, Math.round(share * (copy.length - 1)));
}

/** The middle value; of an even number, the mean of the two in the middle. NaN where there is no finite value. */
export function medianOf(values: ArrayLike<number>): number {
  const copy = finiteSample(values);
  const n = copy.length;
  if (n === 0) return Number.NaN;
  const upper = selected(copy, n >> 1);
  if (n % 2 === 1) return upper;
  // After the selection everything left of the middle is no greater: the largest there is the other middle value.
  let lower = Number.NEGATIVE_INFINITY;
  for (let i = 0; i < n >> 1; i++) lower = Math.max(lower, at(copy, i));
  return (lower + upper) / 2;
}

function extremeOf(values: ArrayLike<number>, share: number): number {
  let extreme = Number.NaN;
  for (let i = 0; i < values.length; i++) {
    const value = at(values, i);
    if (Number.isFinite(value) && !(share <= 0 ? value >= extreme : value <= extreme)) extreme = value;
  }
  return extreme;
}

function finiteSample(values: ArrayLike<number>): Float64Array {
  const stride = Math.ceil(values.length / MOST_VALUES);
  const copy = new Float64Array(Math.ceil(values.length / Math.max(1, stride)));
  let n = 0;
  for (let i = 0; i < values.length; i += stride) {
    const value = at(values, i);
    if (Number.isFinite(value)) copy[n++] = value;
  }
  return copy.subarray(0, n);
}

/** Hoare's quickselect with the middle of three as the pivot; orders `copy` so far that index `wanted` is in its place. */
function selected(copy: Float64Array, wanted: number): number {
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

const middleOf = (a: number, b: number, c: number): number => Math.max(Math.min(a, b), Math.min(Math.max(a, b), c));
