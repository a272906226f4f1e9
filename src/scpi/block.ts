/** The place where the data of a block begin and, for one of definite length, their number of bytes; `more`: its head is not whole yet. */
export type BlockHead =
  | { kind: "more" }
  | { kind: "definite"; from: number; bytes: number }
  | { kind: "indefinite"; from: number }
  | { kind: "bad"; why: string };

const [HASH, ZERO] = [0x23, 0x30];

/**
 * Reads the head of a block that is still coming in: `#<n><n digits>` before data of definite length (IEEE 488.2, 8.7.9), `#0` before data
 * that the end of the message ends (8.7.10).
 */
export function blockHead(bytes: Uint8Array): BlockHead {
  if (bytes.length === 0) return { kind: "more" };
  if (bytes[0] !== HASH) return { kind: "bad", why: 'not a block; it should begin with "#"' };
  if (bytes.length < 2) return { kind: "more" };
  const width = (bytes[1] ?? 0) - ZERO;
  if (width === 0) return { kind: "indefinite", from: 2 };
  if (!(width >= 1 && width <= 9)) return { kind: "bad", why: "without the count of its length digits" };
  let length = 0;
  for (let at = 2; at < 2 + width; at++) {
    const digit = (bytes[at] ?? Number.NaN) - ZERO;
    if (Number.isNaN(digit)) return { kind: "more" };
    if (!(digit >= 0 && digit <= 9)) return { kind: "bad", why: "without its length" };
    length = 10 * length + digit;
  }
  return { kind: "definite", from: 2 + width, bytes: length };
}

/** The form of the words in a block. */
export interface WordForm {
  bits: 8 | 16;
  signed: boolean;
  order: "high-first" | "low-first";
}

/** The words of a block's data; a byte that is left over at the end is none. */
export function wordsOf(data: Uint8Array, { bits, signed, order }: WordForm): Float64Array {
  const view = new DataView(data.buffer, data.byteOffset, data.byteLength);
  const bytes = bits / 8;
  const low = order === "low-first";
  const values = new Float64Array(Math.floor(data.length / bytes));
  for (let i = 0; i < values.length; i++) {
    if (bits === 8) values[i] = signed ? view.getInt8(i) : view.getUint8(i);
    else values[i] = signed ? view.getInt16(2 * i, low) : view.getUint16(2 * i, low);
  }
  return values;
}
