const MOST_PLACES = 9;
/** Differences of two such numbers, with their sign in the lowest bit, are under 2^48: six bytes. */
const LARGEST = 2 ** 45;
const MOST_WIDTH = 6;

/**
 * The number of decimal places that the numbers need at most, so that each comes back as the very same double from a whole number of that
 * place; null where places do not do: more than nine, too large a number, minus zero.
 */
export function placesOf(lists: readonly Float64Array[]): number | null {
  let places = 0;
  for (const values of lists) {
    for (const value of values) {
      while (!isWhole(value, places)) {
        places++;
        if (places > MOST_PLACES) return null;
      }
    }
  }
  // With more places than its own a number may no longer come back as it is.
  return lists.every((values) => values.every((value) => isWhole(value, places))) ? places : null;
}

function isWhole(value: number, places: number): boolean {
  const whole = Math.round(value * 10 ** places);
  return Math.abs(whole) < LARGEST && !Object.is(whole, -0) && whole / 10 ** places === value;
}

/**
 * Whole numbers as bytes that compress well: first the lowest byte of each, then the next one of each, and so on; the sign stands in
 * the lowest bit. `width` is how many bytes each takes.
 */
export function planesOf(wholes: Float64Array): { width: number; bytes: Buffer } {
  let most = 0;
  const signed = wholes.map((value) => (value < 0 ? -2 * value - 1 : 2 * value));
  for (const value of signed) if (value > most) most = value;
  let width = 1;
  while (most >= 256 ** width) width++;
  const bytes = Buffer.alloc(width * wholes.length);
  for (let plane = 0, scale = 1; plane < width; plane++, scale *= 256) {
    const at = plane * wholes.length;
    for (let i = 0; i < signed.length; i++) bytes[at + i] = Math.floor((signed[i] ?? 0) / scale) & 0xff;
  }
  return { width, bytes };
}

/** The whole numbers that `planesOf` made `n` times `width` bytes of. Throws RangeError where there are fewer bytes. */
export function wholesIn(bytes: Buffer, width: number, n: number): Float64Array {
  if (width > MOST_WIDTH || bytes.length < width * n) throw new RangeError("a column is longer than its bytes");
  const wholes = new Float64Array(n);
  for (let plane = 0, scale = 1; plane < width; plane++, scale *= 256) {
    const at = plane * n;
    for (let i = 0; i < n; i++) wholes[i] = (wholes[i] ?? 0) + (bytes[at + i] ?? 0) * scale;
  }
  for (let i = 0; i < n; i++) {
    const value = wholes[i] ?? 0;
    wholes[i] = value % 2 === 1 ? -(value + 1) / 2 : value / 2;
  }
  return wholes;
}
