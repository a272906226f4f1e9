import { JobEvent } from "../../../shared/record/job.ts";
import type { JobTables } from "../database/job-tables.ts";
import { type EventFact, factsOf, wordsOf } from "./event-facts.ts";

type EventRow = JobTables["job_event"];

/** An event with what jobs are found by. */
export interface ReadEvent {
  event: JobEvent;
  facts: readonly EventFact[];
  words: readonly string[];
}

interface Reading {
  document: unknown;
  event?: JobEvent | null;
  read?: ReadEvent | null;
}

/** A row is looked at more than once on its way into a record; its text is taken apart once. */
const known = new WeakMap<EventRow, Reading>();
/** Rows in one go; they take a few milliseconds. */
const AT_ONCE = 100;

/** The JSON of an event's row; undefined where its text is none. */
export const documentOf = (row: EventRow): unknown => readingOf(row).document;

/** The event of a row; null where this program does not understand it. */
export function eventOf(row: EventRow): JobEvent | null {
  const reading = readingOf(row);
  if (reading.event === undefined) reading.event = JobEvent.safeParse(reading.document).data ?? null;
  return reading.event;
}

/** The event of a row and what is derived from it alone; null where this program does not understand it. */
export function readEvent(row: EventRow): ReadEvent | null {
  const reading = readingOf(row);
  if (reading.read === undefined) {
    const event = eventOf(row);
    reading.read = event === null ? null : { event, facts: factsOf(event), words: wordsOf(event) };
  }
  return reading.read;
}

/** Reads rows that are filed later, with a pause now and then in which whatever else this thread does gets its turn. */
export async function readAhead(rows: readonly EventRow[]): Promise<void> {
  for (let from = 0; from < rows.length; from += AT_ONCE) {
    for (const row of rows.slice(from, from + AT_ONCE)) readEvent(row);
    await new Promise<void>((resolve) => void setImmediate(resolve));
  }
}

function readingOf(row: EventRow): Reading {
  const before = known.get(row);
  if (before !== undefined) return before;
  const reading: Reading = { document: undefined };
  try {
    reading.document = JSON.parse(row.body);
  } catch {
    // No JSON is no event.
  }
  known.set(row, reading);
  return reading;
}
