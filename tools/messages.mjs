import { readdirSync, readFileSync } from "node:fs";
import { join, relative } from "node:path";
import { parseAst } from "rolldown/parseAst";
import { root } from "./root.mjs";

/**
 * `node tools/messages.mjs [WORD]`: every text in the sources that a person can see, a line each with its place. A text is
 * a string or a template of two words or more; what is put into a template shows as {…}. With WORD only texts that hold it.
 */
const FOLDERS = ["src", "web", "shared"];
const wanted = process.argv[2]?.toLowerCase();

function sources(folder) {
  return readdirSync(join(root, folder), { recursive: true, encoding: "utf8" })
    .filter((name) => name.endsWith(".ts") && !name.endsWith(".d.ts"))
    .map((name) => join(root, folder, name))
    .sort();
}

/** The text of a string or template node; null for any other. */
function textOf(node) {
  if (node.type === "Literal" && typeof node.value === "string") return node.value;
  if (node.type === "TemplateLiteral") return node.quasis.map((each) => each.value.cooked ?? "").join("{…}");
  return null;
}

/** Statements and templates that no person sees: what is imported, and styles. */
const isUnseen = (node) =>
  /^(Import|Export(All|Named))Declaration$/.test(node.type) && node.source != null
    ? true
    : node.type === "TaggedTemplateExpression" && node.tag.name === "css";

function* textsIn(node) {
  if (node === null || typeof node !== "object") return;
  if (Array.isArray(node)) {
    for (const each of node) yield* textsIn(each);
    return;
  }
  if (typeof node.type !== "string" || isUnseen(node)) return;
  const text = textOf(node);
  if (text !== null) yield { text, start: node.start };
  for (const [key, value] of Object.entries(node)) if (key !== "quasis") yield* textsIn(value);
}

/** Two words of letters at least, apart from tags of the page. */
const isSentence = (text) =>
  /\p{Letter}{2,}[^\p{Letter}<>]*\s[^<>]*\p{Letter}{2,}/u.test(text.replace(/<[^>]*>/g, " "));

for (const file of FOLDERS.flatMap(sources)) {
  const code = readFileSync(file, "utf8");
  for (const { text, start } of textsIn(parseAst(code, { lang: "ts" }))) {
    if (!isSentence(text)) continue;
    const shown = text
      .replace(/<[^>]*>/g, " ")
      .replace(/\s+/g, " ")
      .trim();
    if (wanted !== undefined && !shown.toLowerCase().includes(wanted)) continue;
    const line = code.slice(0, start).split("\n").length;
    process.stdout.write(`${relative(root, file)}:${line}  ${shown}\n`);
  }
}
