import { BenchError } from "../../../shared/bench-error.ts";
import { schemaProblem } from "../../../shared/files/schema-problem.ts";
import { JobEvent, type StoredEvent } from "../../../shared/record/job.ts";
import type { JobTables } from "../database/job-tables.ts";
import { parseStamp } from "./stamp.ts";

/** The text of an event as it is kept; throws BenchError "bad-input" naming the field that is not as it should be. */
export function storedForm(event: JobEvent): string {
  const parsed = JobEvent.safeParse(event);
  if (!parsed.success) {
    throw new BenchError("bad-input", `The event "${event.kind}" cannot be filed: ${schemaProblem(parsed.error)}`);
  }
  return JSON.stringify(parsed.data);
}

/** The beginning of the note that stands for an event which cannot be read. */
export const UNREADABLE = "This event cannot be read";

/**
 * A row back as the event at place `seq` of its job, from 1. One that is damaged, or that a newer program filed, stands as a
 * note that says so: it must not hide the others.
 */
export function storedEvent(row: JobTables["job_event"], seq: number): StoredEvent {
  const origin = parseStamp(row.stamp)?.origin ?? "";
  const filed = { id: row.id, seq, recordedAt: row.recorded_at, event: eventIn(row) };
  return origin === "" ? filed : { ...filed, origin };
}

function eventIn(row: JobTables["job_event"]): JobEvent {
  let document: unknown;
  try {
    document = JSON.parse(row.body);
  } catch {
    document = null;
  }
  const parsed = JobEvent.safeParse(document);
  if (parsed.success) return parsed.data;
  return {
    kind: "note",
    text: `${UNREADABLE} (it was filed as "${row.kind.slice(0, LONGEST_KIND)}"): it is damaged, or a newer firstamp filed it`,
  };
}

const LONGEST_KIND = 40;
