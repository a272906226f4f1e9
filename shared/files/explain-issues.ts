import type { z } from "zod";
import { quoted } from "../bench-error.ts";
import { keysAt } from "./keys-at.ts";

type Issue = z.core.$ZodIssue;

/** A document and the schema that refused it. */
interface Refused {
  document: unknown;
  schema: z.core.$ZodType;
}

function at(document: unknown, path: readonly PropertyKey[]): unknown {
  let value: unknown = document;
  for (const key of path) {
    if (typeof value !== "object" || value === null) return undefined;
    value = (value as Record<PropertyKey, unknown>)[key];
  }
  return value;
}

const pathText = (path: readonly PropertyKey[]): string =>
  path.length === 0
    ? "the document"
    : path
        .map((key) => (typeof key === "number" ? `[${key}]` : shortened(String(key))))
        .join(".")
        .replaceAll(".[", "[");

const LONGEST_QUOTE = 120;
const shortened = (text: string): string => (text.length <= LONGEST_QUOTE ? text : `${text.slice(0, LONGEST_QUOTE)}…`);

const shown = (value: unknown): string => {
  if (value === undefined) return "nothing";
  return quoted(typeof value === "string" ? value : (JSON.stringify(value) ?? String(value))).replace(
    /^"(.*)"$/s,
    (_, inner: string) => (typeof value === "string" ? `"${inner}"` : inner.replaceAll('\\"', '"')),
  );
};

/** Letters to add, drop or change to come from one word to the other, counted to at most three. */
function distance(a: string, b: string): number {
  let row = Array.from({ length: b.length + 1 }, (_, index) => index);
  for (let i = 1; i <= a.length; i++) {
    const next = [i];
    for (let j = 1; j <= b.length; j++) {
      const change = (row[j - 1] ?? 0) + (a[i - 1] === b[j - 1] ? 0 : 1);
      next.push(Math.min(change, (row[j] ?? 0) + 1, (next[j - 1] ?? 0) + 1));
    }
    row = next;
  }
  return row.at(-1) ?? 0;
}

/** No key of a schema is longer. */
const LONGEST_KEY = 30;

/** The known key that a person may have meant by a wrong one. */
function meant(key: string, knownKeys: readonly string[]): string {
  if (key.length > LONGEST_KEY) return "";
  const near = knownKeys
    .map((known) => ({ known, far: distance(key.toLowerCase(), known.toLowerCase()) }))
    .filter(({ far }) => far <= Math.min(3, Math.ceil(key.length / 3)))
    .sort((a, b) => a.far - b.far)[0];
  return near === undefined ? "" : `; did you mean ${JSON.stringify(near.known)}?`;
}

/** One branch of a union that a document most likely meant: of its kind at all, with the fewest complaints. */
function nearestBranch(issue: Extract<Issue, { code: "invalid_union" }>): readonly Issue[] {
  const isOther = (branch: readonly Issue[]): number =>
    Number(branch.some(({ code, path }) => code === "invalid_type" && path.length === 0));
  return [...issue.errors].sort((a, b) => isOther(a) - isOther(b) || a.length - b.length)[0] ?? [];
}

function explain(issue: Issue, refused: Refused, base: readonly PropertyKey[]): string[] {
  const { document, schema } = refused;
  const path = [...base, ...issue.path];
  const where = pathText(path);
  switch (issue.code) {
    case "unrecognized_keys":
      return issue.keys
        .slice(0, MOST_SENTENCES + 1)
        .map((key) => `${pathText([...path, key])} is not a field here${meant(key, keysAt(schema, path))}`);
    case "invalid_union": {
      const branch = nearestBranch(issue);
      if (branch.length > 0) return branch.flatMap((each) => explain(each, refused, path));
      return [`${where} is ${shown(at(document, path))}; ${issue.message}`];
    }
    case "custom":
      return [`${where} ${issue.message}`];
    default: {
      const value = at(document, path);
      if (value === undefined) return [`${where} is missing; ${issue.message}`];
      return [`${where} is ${shown(value)}; ${issue.message}`];
    }
  }
}

const MOST_SENTENCES = 12;
const LONGEST_SENTENCE = 400;
const shortenedSentence = (text: string): string =>
  text.length <= LONGEST_SENTENCE ? text : `${text.slice(0, LONGEST_SENTENCE)}…`;

/**
 * A schema's complaints as sentences: the field's path, what is there, what should be. At most twelve. The complaints
 * come from a parse with the error map `shouldBe`.
 */
export function explainIssues(issues: readonly Issue[], refused: Refused): string[] {
  // A file can be wrong in a million places, and each sentence takes its time.
  const sentences = issues.slice(0, 10 * MOST_SENTENCES).flatMap((issue) => explain(issue, refused, []));
  const unique = [...new Set(sentences.map(shortenedSentence))];
  return unique.length <= MOST_SENTENCES ? unique : [...unique.slice(0, MOST_SENTENCES), "and more"];
}
