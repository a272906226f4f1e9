import { randomBytes } from "./random-bytes.ts";

/**
 * A maker of time-ordered ids (RFC 9562, UUID version 7: 48 bits of Unix milliseconds, then random bits). Ids of one
 * maker always rise, also within a millisecond and when the wall clock is set back (RFC 9562 §6.2, method 2: the random
 * bits after the version are counted up).
 */
export function uuidV7Maker(
  nowMs: () => number = Date.now,
  random: (bytes: number) => Uint8Array = randomBytes,
): () => string {
  let lastMs = -1;
  let counter = 0;
  return () => {
    const ms = nowMs();
    const bits = random(10);
    if (ms > lastMs) {
      lastMs = ms;
      counter = (((bits[0] ?? 0) << 8) | (bits[1] ?? 0)) & 0xfff;
    } else if (++counter > 0xfff) {
      // Out of counter in this millisecond: borrow from the next one rather than let an id fall.
      lastMs++;
      counter = 0;
    }
    const variant = 0x80 | ((bits[2] ?? 0) & 0x3f);
    const hex =
      lastMs.toString(16).padStart(12, "0") +
      (0x7000 | counter).toString(16) +
      variant.toString(16) +
      Buffer.from(bits.subarray(3, 10)).toString("hex");
    return `${hex.slice(0, 8)}-${hex.slice(8, 12)}-${hex.slice(12, 16)}-${hex.slice(16, 20)}-${hex.slice(20)}`;
  };
}

/** The next id of this process; see `uuidV7Maker`. */
export const uuidV7 = uuidV7Maker();

/** The id as it is shown: its last eight digits, which are random, since the first ones are the same for a whole minute. */
export const shortId = (id: string): string => id.slice(-8);
