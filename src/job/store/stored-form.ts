import { BenchError } from "../../../shared/bench-error.ts";
import { JobEvent, type StoredEvent } from "../../../shared/job.ts";
import { schemaProblem } from "../../../shared/schema-problem.ts";
import type { JobTables } from "./job-tables.ts";
import { parseStamp } from "./stamp.ts";

/** The text of an event as it is kept; throws BenchError "bad-input" naming the field that is not as it should be. */
export function storedForm(event: JobEvent): string {
  const parsed = JobEvent.safeParse(event);
  if (!parsed.success) {
    throw new BenchError("bad-input", `The event "${event.kind}" cannot be filed: ${schemaProblem(parsed.error)}`);
  }
  return JSON.stringify(parsed.data);
}

/** A row back as the event at place `seq` of its job, from 1; throws BenchError "bad-input" where this program does not know what it says. */
export function storedEvent(row: JobTables["job_event"], seq: number): StoredEvent {
  const parsed = JobEvent.safeParse(JSON.parse(row.body));
  if (!parsed.success) {
    throw new BenchError(
      "bad-input",
      `Event ${seq} of job ${row.job} (kind "${row.kind}") is not understood; it was filed by a newer firstamp or is damaged`,
      { cause: parsed.error },
    );
  }
  const origin = parseStamp(row.stamp)?.origin ?? "";
  const filed = { id: row.id, seq, recordedAt: row.recorded_at, event: parsed.data };
  return origin === "" ? filed : { ...filed, origin };
}
