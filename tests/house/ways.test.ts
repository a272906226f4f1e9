import { existsSync, readFileSync } from "node:fs";
import path from "node:path";
import { expect, test } from "vitest";

const root = path.resolve(import.meta.dirname, "../..");
const text = readFileSync(path.join(root, "DEVELOPERS.md"), "utf8");
const ways = ["## The way of one reading, from bytes to screen", "## The way of one cut, from key to wire"];

/** The first file that each numbered line of a section names, in order. */
function filesOf(heading: string): string[] {
  const section = (text.split(`${heading}\n`)[1] ?? "").split("\n## ")[0] ?? "";
  return [...section.matchAll(/^\d+\. `([^`]+)`/gm)].map(([, file = ""]) => file);
}

/** The files of this project that a file imports, types as well. */
function importsOf(file: string): string[] {
  const code = readFileSync(path.join(root, file), "utf8");
  const found = code.matchAll(/(?:from|import)\s*\(?\s*"(\.{1,2}\/[^"]+)"/g);
  return [...found].map(([, to = ""]) => path.join(path.dirname(file), to));
}

for (const way of ways) {
  test(`${way.slice(3)}: each file is there and imports the one before or after it`, () => {
    const files = filesOf(way);
    expect(files.length).toBeGreaterThan(15);
    expect(files.filter((file) => !existsSync(path.join(root, file)))).toEqual([]);
    const apart = files.slice(1).flatMap((file, index) => {
      const before = files[index] ?? "";
      return importsOf(file).includes(before) || importsOf(before).includes(file) ? [] : [`${before} and ${file}`];
    });
    expect(apart).toEqual([]);
  });
}

test("the glossary has at most 40 words, each once", () => {
  const words = [...(text.split("## Words\n")[1] ?? "").matchAll(/^\| ([^|]+) \| [^|]+ \|$/gm)]
    .map(([, word = ""]) => word)
    .filter((word) => word !== "word");
  expect(words.length).toBeGreaterThan(20);
  expect(words.length).toBeLessThanOrEqual(40);
  expect(new Set(words).size).toBe(words.length);
});
