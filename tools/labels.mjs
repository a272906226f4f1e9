import { readdirSync, readFileSync } from "node:fs";
import { join, relative } from "node:path";
import { root } from "./root.mjs";

/**
 * Prints every text that the page shows, a line each with the file it stands in, to be read by eyes: for words that are not the
 * trade's own or ours, for sentences that need a second reading. `node tools/labels.mjs [WORD]` prints those with the word.
 */
const files = (folder) =>
  readdirSync(folder, { withFileTypes: true }).flatMap((each) => {
    const path = join(folder, each.name);
    return each.isDirectory() ? files(path) : /\.(ts|json)$/.test(each.name) ? [path] : [];
  });

/** What stands between the tags of a template, and in those attributes that are read out or shown. */
function ofTemplates(code) {
  const bare = code.replaceAll(/css`[^`]*`/g, "");
  const found = [...bare.matchAll(/(?:aria-label|placeholder|title|alt)="([^"]*)"/g)].map(([, text]) => text);
  for (const [, text] of bare.matchAll(/>([^<>`]*)(?=<)/g)) found.push(text);
  return found.map((text) => text.replaceAll(/\$\{[^}]*\}?/g, "…"));
}

/** Strings that are words: with a space, or a capital first letter. */
const ofStrings = (code) =>
  [...code.matchAll(/"((?:[^"\\\n]|\\.)*)"/g)]
    .map(([, text]) => text)
    .filter((text) => /^[A-Z].*[a-z]|[a-z] [a-zA-Z]/.test(text));

const isWords = (text) => /\p{L}{2}/u.test(text) && !/[{}=;]|=>|^\.|\.ts$|^--|^@/.test(text);
const [, , word] = process.argv;
const lines = files(join(root, "web")).flatMap((file) => {
  const read = readFileSync(file, "utf8");
  // Files of sentences hold nothing else.
  if (file.endsWith(".json")) return Object.values(JSON.parse(read)).map((text) => `${relative(root, file)}\t${text}`);
  const code = read.replaceAll(/\/\*[\s\S]*?\*\/|^\s*\/\/.*$/gm, "").replaceAll(/^import .*$/gm, "");
  const texts = new Set(
    [...ofTemplates(code), ...ofStrings(code)].map((each) => each.replaceAll(/\s+/g, " ").trim()).filter(isWords),
  );
  return [...texts].map((text) => `${relative(root, file)}\t${text}`);
});
const shown = lines.filter((each) => word === undefined || each.toLowerCase().includes(word.toLowerCase()));
process.stdout.write(`${shown.join("\n")}\n`);
