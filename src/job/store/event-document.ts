import { JobEvent } from "../../../shared/job.ts";
import type { JobTables } from "./job-tables.ts";

type EventRow = JobTables["job_event"];

/** A row is looked at more than once on its way into a record; its text is taken apart once. */
const documents = new WeakMap<EventRow, { document: unknown }>();

/** The JSON of an event's row; undefined where its text is none. */
export function documentOf(row: EventRow): unknown {
  const known = documents.get(row);
  if (known !== undefined) return known.document;
  let document: unknown;
  try {
    document = JSON.parse(row.body);
  } catch {
    document = undefined;
  }
  documents.set(row, { document });
  return document;
}

/** The event of a row; null where this program does not understand it. */
export const eventOf = (row: EventRow): JobEvent | null => JobEvent.safeParse(documentOf(row)).data ?? null;
