import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { readPattern } from "../../shared/files/pattern.ts";

/** The language's own engine is the other opinion: it goes back, so the texts and repeats here are short. */
const asTheLanguage = (source: string, text: string): boolean => new RegExp(source, "i").test(text);

const atom = fc.constantFrom("a", "B", "7", ".", "\\d", "\\W", "[a-c]", "[^b7]", "\\.", "-", "^", "$");
const repeat = fc.constantFrom("", "", "*", "+", "?", "{2}", "{1,}", "{0,2}");
const item = fc.oneof(
  fc.tuple(fc.constantFrom("a", "B", "7", ".", "\\d", "[a-c]", "[^b7]", "\\."), repeat),
  fc.tuple(atom, fc.constant("")),
);
const choiceOf = (items: fc.Arbitrary<[string, string]>): fc.Arbitrary<string> =>
  fc
    .array(fc.array(items, { maxLength: 3 }), { minLength: 1, maxLength: 2 })
    .map((choice) => choice.map((sequence) => sequence.flat().join("")).join("|"));
const groupOf = (choice: fc.Arbitrary<string>): fc.Arbitrary<[string, string]> =>
  fc.tuple(
    choice.map((inner) => `(${inner})`),
    repeat,
  );
const source = choiceOf(fc.oneof(item, groupOf(choiceOf(fc.oneof(item, groupOf(choiceOf(item)))))));

describe("readPattern()", () => {
  it("finds what the language's own engine finds", () => {
    fc.assert(
      fc.property(
        source,
        fc.string({ unit: fc.constantFrom("a", "A", "b", "c", "7", ".", "-"), maxLength: 8 }),
        (pattern, text) => {
          expect(readPattern(pattern).isIn(text), `${pattern} in ${text}`).toBe(asTheLanguage(pattern, text));
        },
      ),
      { numRuns: 2000 },
    );
  });

  /** Each of these takes an engine that goes back longer than anyone waits. */
  it.each(["^(a+)+$", "^(a|a)*$", "^(a*)*b", "(a?){30}a{30}b", "^((((a+)+)+)+)+$", ".*.*.*.*.*.*.*.*x"])(
    "answers %s at once, however long the text",
    (pattern) => {
      const used = process.cpuUsage();
      expect(readPattern(pattern).isIn(`${"a".repeat(5000)}!`)).toBe(false);
      expect(process.cpuUsage(used).user).toBeLessThan(2e6);
    },
  );

  it.each(["(a", "a)", "[a", "a**", "*a", "(?=a)", "(?<n>a)", "\\1", "\\", "[z-a]", "a{5,2}", "a{999}", "+"])(
    "refuses %s, saying where",
    (pattern) => {
      expect(() => readPattern(pattern)).toThrow(/at character \d+$/);
    },
  );
});
