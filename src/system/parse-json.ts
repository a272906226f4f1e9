/** Why a text is not taken as JSON, with the place in the text, counted from 0, where there is one. */
export class JsonProblem extends Error {
  readonly position: number | null;

  constructor(message: string, position: number | null, cause?: unknown) {
    super(message, cause === undefined ? undefined : { cause });
    this.position = position;
  }
}

/** Objects and lists inside each other; documents here need fewer than ten. */
const MOST_DEPTH = 64;

/**
 * The value of a JSON text (RFC 8259) in which each object has each key once. JSON.parse keeps the last of two equal keys
 * without a word, so a limit given twice would be the wrong one unseen. Throws JsonProblem for a text that is no JSON, for
 * a key that is there twice (with its path), and for one nested deeper than 64.
 */
export function parseJson(text: string): unknown {
  // Before JSON.parse, which takes any depth: what walks the value afterwards would run out of stack.
  const repeated = walk(text);
  let value: unknown;
  try {
    value = JSON.parse(text);
  } catch (cause) {
    throw syntaxProblem(text, cause);
  }
  if (repeated === null) return value;
  throw new JsonProblem(`${repeated.path} appears twice; give each name once`, repeated.position);
}

interface Open {
  keys: Set<string> | null;
  path: string;
  /** The key or the place in the list that is being read. */
  key: string;
  index: number;
}

/** Looks at the marks and texts only; a text that is no JSON may come through and is refused by JSON.parse. */
function walk(text: string): { path: string; position: number } | null {
  const open: Open[] = [];
  let first: { path: string; position: number } | null = null;
  for (let at = 0; at < text.length; at++) {
    const mark = text[at];
    const top = open.at(-1);
    if (mark === "{" || mark === "[") {
      if (open.length >= MOST_DEPTH)
        throw new JsonProblem(`more than ${MOST_DEPTH} objects and lists are nested in each other`, at);
      open.push({ keys: mark === "{" ? new Set() : null, path: pathOf(top), key: "", index: 0 });
    } else if (mark === "}" || mark === "]") open.pop();
    else if (mark === "," && top?.keys === null) top.index++;
    else if (mark === '"') {
      const end = endOfText(text, at);
      if (top?.keys != null && isKey(text, end)) {
        top.key = keyOf(text.slice(at, end));
        if (top.keys.has(top.key)) first ??= { path: pathOf(top), position: at };
        top.keys.add(top.key);
      }
      at = end - 1;
    }
  }
  return first;
}

/** The place behind the quotation mark that ends the text which begins at `from`. */
function endOfText(text: string, from: number): number {
  for (let at = from + 1; at < text.length; at++) {
    if (text[at] === '"') return at + 1;
    if (text[at] === "\\") at++;
  }
  return text.length;
}

function isKey(text: string, from: number): boolean {
  let at = from;
  while (at < text.length && " \t\r\n".includes(text[at] ?? "")) at++;
  return text[at] === ":";
}

function pathOf(top: Open | undefined): string {
  if (top === undefined) return "";
  if (top.keys === null) return `${top.path}[${top.index}]`;
  return top.path === "" ? top.key : `${top.path}.${top.key}`;
}

function keyOf(mark: string): string {
  try {
    return JSON.parse(mark) as string;
  } catch {
    return mark;
  }
}

/** The engine's complaint without the piece of the text that it quotes: that may be long, and hold what a terminal obeys. */
function syntaxProblem(text: string, cause: unknown): JsonProblem {
  if (text.trim() === "") return new JsonProblem("the file is empty", null, cause);
  const message = cause instanceof Error ? cause.message : String(cause);
  const position = /position (\d+)/.exec(message)?.[1];
  const endsEarly = /end of JSON|Unterminated/.test(message);
  const words = message.replace(/ in JSON at position.*| \(line.*|, .*is not valid JSON$/s, "");
  return new JsonProblem(words, position === undefined ? (endsEarly ? text.length : null) : Number(position), cause);
}
