import type { z } from "zod";
import { quoted } from "../../../shared/bench-error.ts";

type Issue = z.core.$ZodIssue;

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
        .map((key) => (typeof key === "number" ? `[${key}]` : String(key)))
        .join(".")
        .replaceAll(".[", "[");

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

/** Keys a person may have meant; the schema's own names as they occur in the issues and in the shipped files. */
const KNOWN_KEYS = [
  "version name instruments feeds meter kind address driver serial accuracy serialNumber baudRate dataBits parity stopBits",
  "flowControl dtr rts hangUpOnClose supply channel leadOhms sense readsAtSense manual order nominalVolts tolerance limitAmps",
  "firstAmps maxVolts coldOhmsMin inputFarads lockOutVolts maxOnSeconds bare block cooler idleAmps when of bands host fans rails",
  "volts coldOhms needs signal point diodeVolts coldPairs voltsShare voltsOffset ampsShare ampsOffset ohmsShare ohmsOffset",
]
  .join(" ")
  .split(" ");

function meant(key: string): string {
  const near = KNOWN_KEYS.map((known) => ({ known, far: distance(key.toLowerCase(), known.toLowerCase()) }))
    .filter(({ far }) => far <= Math.min(3, Math.ceil(key.length / 3)))
    .sort((a, b) => a.far - b.far)[0];
  return near === undefined ? "" : `; perhaps ${JSON.stringify(near.known)} was meant`;
}

/** One branch of a union that a document most likely meant: the one with the fewest complaints. */
function nearestBranch(issue: Extract<Issue, { code: "invalid_union" }>): readonly Issue[] {
  return [...issue.errors].sort((a, b) => a.length - b.length)[0] ?? [];
}

function explain(issue: Issue, document: unknown, base: readonly PropertyKey[]): string[] {
  const path = [...base, ...issue.path];
  const where = pathText(path);
  switch (issue.code) {
    case "unrecognized_keys":
      return issue.keys.map((key) => `${pathText([...path, key])} is no field there${meant(key)}`);
    case "invalid_union": {
      const branch = nearestBranch(issue);
      if (branch.length > 0) return branch.flatMap((each) => explain(each, document, path));
      return [`${where} is ${shown(at(document, path))}; ${issue.message}`];
    }
    case "custom":
      return [`${where} ${issue.message}`];
    default: {
      const value = at(document, path);
      if (value === undefined) return [`${where} is missing; ${lower(issue.message)}`];
      return [`${where} is ${shown(value)}; ${lower(issue.message)}`];
    }
  }
}

const KIND_WORDS: Readonly<Record<string, string>> = {
  object: "it should be an object, { … }",
  record: "it should be an object, { … }",
  array: "it should be a list, [ … ]",
  tuple: "it should be a list, [ … ]",
  string: "it should be a text in quotes",
  int: "it should be a whole number",
  boolean: "it should be true or false",
};

/** zod says "Invalid input: expected number, received string"; a sentence here says what should have come. */
const lower = (message: string): string =>
  message
    .replace(
      /^Invalid input: expected ([^,]+), received .*$/s,
      (_, kind: string) => KIND_WORDS[kind] ?? `it should be a ${kind}`,
    )
    .replace(/^Invalid input: expected (.+)$/s, "it should be $1")
    .replace(/^Invalid option: expected one of (.*)$/s, "it should be one of $1")
    .replace(/^Too small: expected \w+ to be (.*)$/s, "it should be $1")
    .replace(/^Too big: expected \w+ to be (.*)$/s, "it should be $1")
    .replace(/^Unrecognized key.*$/s, "it has a field that is not known");

/** A schema's complaints as sentences: the field's path, what is there, what should be. At most twelve. */
export function explainIssues(issues: readonly Issue[], document: unknown): string[] {
  const sentences = issues.flatMap((issue) => explain(issue, document, []));
  const unique = [...new Set(sentences)];
  return unique.length <= 12 ? unique : [...unique.slice(0, 12), `and ${unique.length - 12} more`];
}
