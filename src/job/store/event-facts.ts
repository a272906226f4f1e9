import type { JobEvent } from "../../../shared/record/job.ts";
import type { FactField } from "../database/job-tables.ts";

const LONGEST_VALUE = 200;
const LONGEST_WORD = 32;
const MOST_WORDS = 4000;
/** Events whose words are a machine's: they tell one job from another no better than its numbers. */
const WORDLESS: ReadonlySet<string> = new Set(["run-started", "run-events", "run-ended", "sweep-rail", "lead-null"]);
/** Fields of an event that hold no words of a person. */
const NO_WORDS: ReadonlySet<string> = new Set(["kind", "sha256", "mediaType", "run", "sweep", "of", "comebackOf"]);

/** A text as values are compared by: without case, accents, outer and double spaces; at most 200 characters. */
export const comparable = (text: string): string => plain(text).replace(/\s+/g, " ").trim().slice(0, LONGEST_VALUE);

/** The words of a text as they are searched for: letters and digits, without case and accents, each once. */
export function wordsIn(text: string): string[] {
  const words = plain(text).match(/[\p{L}\p{N}]+/gu) ?? [];
  return [...new Set(words.map((word) => word.slice(0, LONGEST_WORD)))].slice(0, MOST_WORDS);
}

/** A text as both databases can hold it: a column of PostgreSQL holds no NUL, and a half character pair is no text at all. */
export const storable = (text: string): string => Buffer.from(text, "utf8").toString("utf8").replaceAll("\0", " ");

const plain = (text: string): string =>
  storable(text)
    .normalize("NFKD")
    .replace(/\p{M}+/gu, "")
    .toLowerCase()
    // biome-ignore lint/suspicious/noControlCharactersInRegex: they are what is taken out
    .replace(/[\u0000-\u001f\u007f]/g, " ");

export interface EventFact {
  field: FactField;
  value: string;
  said: string | null;
}

/** The facts of an event by which jobs are found. Of a correction: the facts it puts in place of the original's. */
export function factsOf(event: JobEvent): EventFact[] {
  const facts: EventFact[] = [];
  const say = (field: FactField, value: string | null | undefined) => {
    const text = value == null ? "" : comparable(value);
    if (text !== "" && !facts.some((each) => each.field === field && each.value === text))
      facts.push({ field, value: text, said: null });
  };
  const show = (field: FactField, value: string | null) => {
    if (value !== null) facts.push({ field, value: comparable(value), said: JSON.stringify(value) });
  };
  switch (event.kind) {
    case "opened":
      facts.push({ field: "opened", value: "", said: null });
      show("title", event.title);
      show("board", event.board);
      say("comeback-of", event.comebackOf);
      break;
    case "intake":
      say("owner", event.owner);
      say("serial", event.serialNumber);
      break;
    case "result":
      say("result", event.result);
      break;
    case "stage":
      say("stage", event.stage);
      break;
    case "run-started":
      say("run", event.header.run);
      say("board", event.header.board?.name);
      break;
    case "run-ended":
      say("class", event.end.verdict?.class);
      break;
    case "sweep-started":
      say("board", event.board);
      break;
    case "sweep-ended": {
      const [likeliest] = event.diagnosis?.faults ?? [];
      if (likeliest !== undefined) say("fault", `${likeliest.element} ${likeliest.kind}`);
      break;
    }
    case "repair":
      for (const part of event.parts) say("part", part.name);
      break;
    case "attachment":
      say("file", event.sha256);
      break;
    case "correction":
      facts.push({ field: "corrected", value: event.of, said: null }, ...factsOf(event.event));
      break;
  }
  return facts;
}

/** The words of an event that jobs are searched by. */
export const wordsOf = (event: JobEvent): string[] =>
  WORDLESS.has(event.kind) ? [] : wordsIn([...textsOf(event)].join(" "));

function* textsOf(value: unknown): Generator<string> {
  if (typeof value === "string") yield value;
  else if (Array.isArray(value)) for (const each of value) yield* textsOf(each);
  else if (typeof value === "object" && value !== null) {
    for (const [key, each] of Object.entries(value)) if (!NO_WORDS.has(key)) yield* textsOf(each);
  }
}
