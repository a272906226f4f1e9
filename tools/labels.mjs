import { readdirSync, readFileSync } from "node:fs";
import { join, relative } from "node:path";
import { root } from "./root.mjs";

/**
 * Prints every text that the page says, a line each: its file and key, English, German. It is to be read by eyes, for words that are
 * not the trade's own or ours and for sentences that need a second reading. `node tools/labels.mjs [WORD]` prints those with the word.
 */
const [, , word = ""] = process.argv;
const folder = join(root, "web");
const read = (file) => JSON.parse(readFileSync(join(folder, file), "utf8"));
for (const file of readdirSync(folder, { recursive: true }).filter((each) => each.endsWith(".en.json"))) {
  const german = read(file.replace(".en.json", ".de.json"));
  for (const [key, english] of Object.entries(read(file))) {
    const line = [`${relative(root, join(folder, file))} ${key}`, english, german[key]].join("\t");
    if (line.toLowerCase().includes(word.toLowerCase())) process.stdout.write(`${line}\n`);
  }
}
