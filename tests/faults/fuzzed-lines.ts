import type { Random } from "../../src/simulator/random.ts";
import { oneOf } from "./fault-row.ts";

const below = (random: Random, most: number): number => Math.floor(random.next() * most);
const WORDS = ["INF", "NAN", "OL", "9.9E37", "-9.91E37", "1e400", "ON", "12,5", "5mA", "0x10", "--1", "1.2.3", "", " "];

/** A reading as a supply gives it, of six values, spoiled in up to four places, or bytes of chance; Latin-1. */
export function fuzzedLine(random: Random): string {
  if (random.next() < 0.1) return bytesOfChance(random, below(random, 60));
  let line = `${(12 * random.next()).toFixed(3)};${(2 * random.next()).toFixed(4)};${oneOf(random, ["CV", "CC", "0", "1"])};${below(random, 2)};12.0000;2.0000`;
  for (let left = below(random, 5); left > 0; left--) line = spoiled(line, random);
  return line;
}

const bytesOfChance = (random: Random, length: number): string =>
  String.fromCharCode(...Array.from({ length }, () => below(random, 256)));

function spoiled(line: string, random: Random): string {
  const at = below(random, line.length + 1);
  switch (below(random, 6)) {
    case 0:
      return line.slice(0, at) + bytesOfChance(random, 1) + line.slice(at + 1);
    case 1:
      return line.slice(0, at) + bytesOfChance(random, 1 + below(random, 3)) + line.slice(at);
    case 2:
      return line.slice(0, at) + line.slice(at + 1 + below(random, 4));
    case 3:
      return line.slice(0, at);
    case 4:
      return line.slice(0, at) + line;
    default: {
      const fields = line.split(";");
      fields[below(random, fields.length)] = oneOf(random, WORDS);
      return fields.join(";");
    }
  }
}
