import { seededRandom } from "../../src/simulator/random.ts";

/** What a number, a text or a name of a file may become: ends of what is allowed, and what other programs choke on. */
const STRANGE = [
  "0",
  "-0",
  "-1",
  "1e308",
  "1e999",
  "9.9e37",
  "NaN",
  "null",
  "true",
  "{}",
  "[]",
  '""',
  "1.5",
  "2147483648",
  "\u0000",
  "\u001b[2J",
  "\u202e",
  "\ud800",
  "constructor",
  "__proto__",
  "../../..",
  "{channel}",
  "*".repeat(500),
  "[".repeat(300),
  ",",
  ";",
  "\n",
  '"',
  "\\",
];

/** A changed copy of a file's bytes: 1 to 4 changes, made by the seed alone. */
export function mutated(bytes: Buffer, seed: number): Buffer {
  const random = seededRandom(seed);
  const below = (most: number): number => Math.floor(random.next() * most);
  let now = bytes;
  for (let changes = 1 + below(4); changes > 0; changes--) {
    const at = below(now.length + 1);
    const end = Math.min(now.length, at + 1 + below(random.next() < 0.5 ? 8 : 400));
    const between = (middle: Buffer): Buffer => Buffer.concat([now.subarray(0, at), middle, now.subarray(end)]);
    const kind = below(7);
    if (kind === 0) {
      now = Buffer.from(now);
      if (now.length > 0) now[below(now.length)] = below(256);
    } else if (kind === 1) now = between(Buffer.alloc(0));
    else if (kind === 2) now = between(Buffer.concat([now.subarray(at, end), now.subarray(at, end)]));
    else if (kind === 3) now = now.subarray(0, at);
    else if (kind === 4) now = between(Buffer.from(STRANGE[below(STRANGE.length)] ?? "", "utf8"));
    else now = inItsGrammar(now, below, kind === 5);
  }
  return now;
}

/** A number or a text in quotes put in another's place: what is still JSON, or a row, goes deeper than damage does. */
function inItsGrammar(bytes: Buffer, below: (most: number) => number, isNumber: boolean): Buffer {
  const text = bytes.toString("latin1");
  const found = [...text.matchAll(isNumber ? /-?\d+(?:\.\d+)?/g : /"[^"\n]*"/g)];
  const [one, other] = [found[below(found.length)], found[below(found.length)]];
  if (one === undefined || other === undefined) return bytes;
  const strange = STRANGE[below(STRANGE.length)] ?? "0";
  const put = below(2) === 0 ? other[0] : isNumber ? strange : JSON.stringify(strange);
  return Buffer.concat([
    bytes.subarray(0, one.index),
    Buffer.from(put, "utf8"),
    bytes.subarray(one.index + one[0].length),
  ]);
}
