/** One mnemonic of a header pattern: `[:LEVel]` is optional, `SOURce#` takes a number. */
interface PatternNode {
  short: string;
  long: string;
  optional: boolean;
  numbered: boolean;
}

export interface HeaderPattern {
  nodes: readonly PatternNode[];
  query: boolean;
}

/**
 * Reads a header as manuals print it: capitals are the short form, brackets what may be left out, `#` where a number may
 * stand, `?` at the end a query. Example: `[SOURce#]:VOLTage[:LEVel]?`.
 */
export function headerPattern(text: string): HeaderPattern {
  const query = text.endsWith("?");
  const nodes: PatternNode[] = [];
  for (const [, open, mnemonic, number] of text.matchAll(/(\[)?:?(\*?[A-Za-z_]+)(#)?(?::?\])?/g)) {
    if (mnemonic === undefined) continue;
    nodes.push({
      short: mnemonic.replace(/[a-z]/g, ""),
      long: mnemonic.toUpperCase(),
      optional: open !== undefined,
      numbered: number !== undefined,
    });
  }
  return { nodes, query };
}

/** The parts of a header: its mnemonics, and the number each ends in (null where there is none). */
export interface HeaderWord {
  word: string;
  number: number | null;
}

/** Splits `SOUR2:VOLT` into its words. */
export const headerWords = (header: string): HeaderWord[] =>
  header
    .split(":")
    .filter((each) => each !== "")
    .map((each) => {
      const found = /^(\*?[A-Za-z_]+)(\d*)$/.exec(each);
      return { word: (found?.[1] ?? each).toUpperCase(), number: found?.[2] ? Number(found[2]) : null };
    });

/**
 * Matches words against a pattern; only the exact short or the exact long form of a mnemonic matches. The answer is the
 * numbers given at the numbered nodes (1 where left out), or null when it does not match; `badSuffix` when the words fit
 * and a number stands where none may.
 */
export function matchHeader(
  pattern: HeaderPattern,
  words: readonly HeaderWord[],
): { numbers: number[] } | "bad-suffix" | null {
  const walk = (at: number, word: number): { numbers: number[] } | "bad-suffix" | null => {
    const node = pattern.nodes[at];
    if (node === undefined) return word === words.length ? { numbers: [] } : null;
    const given = words[word];
    if (given !== undefined && (given.word === node.short || given.word === node.long)) {
      const rest = walk(at + 1, word + 1);
      if (rest !== null) {
        if (rest === "bad-suffix" || (given.number !== null && !node.numbered)) return "bad-suffix";
        return node.numbered ? { numbers: [given.number ?? 1, ...rest.numbers] } : rest;
      }
    }
    if (!node.optional) return null;
    const rest = walk(at + 1, word);
    if (rest === null || rest === "bad-suffix") return rest;
    return node.numbered ? { numbers: [1, ...rest.numbers] } : rest;
  };
  return walk(0, 0);
}
