/** A block as it came: its data and what follows it, or why it is not one. */
export type Block = { kind: "block"; data: string; rest: string } | { kind: "bad"; why: string };

/**
 * Reads a definite-length block `#<n><n digits><data>` (IEEE 488.2, 8.7.9) from Latin-1 text, where one character is one
 * byte; the data may hold any byte, line ends too. The indefinite form `#0` is refused: on a serial line its end cannot
 * be told from its data.
 */
export function parseBlock(text: string): Block {
  if (text[0] !== "#") return { kind: "bad", why: 'not a block; it should begin with "#"' };
  const width = text.charCodeAt(1) - 48;
  if (width === 0) return { kind: "bad", why: "of indefinite length, which has no end on a serial line" };
  if (!(width >= 1 && width <= 9)) return { kind: "bad", why: "without the count of its length digits" };
  const digits = text.slice(2, 2 + width);
  if (digits.length < width || !/^\d+$/.test(digits)) return { kind: "bad", why: "without its length" };
  const start = 2 + width;
  const end = start + Number(digits);
  if (text.length < end) {
    return { kind: "bad", why: `short: ${text.length - start} of ${Number(digits)} bytes` };
  }
  return { kind: "block", data: text.slice(start, end), rest: text.slice(end) };
}
