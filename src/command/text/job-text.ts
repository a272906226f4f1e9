import type { JobRecord } from "../../../shared/job.ts";
import { eventText } from "../../job/report/event-text.ts";
import { visibleLine as oneLine } from "../../job/report/visible-text.ts";
import { jobLine } from "./job-line.ts";

/** A job with its log, for a terminal. */
export function jobText(record: JobRecord): string {
  const log = record.log.map(
    ({ seq, recordedAt, event }) =>
      `${String(seq).padStart(4)}  ${recordedAt.slice(0, 19).replace("T", " ")}  ${event.kind.padEnd(13)}  ${oneLine(eventText(event))}`,
  );
  return `${[jobLine(record), `id ${record.job}; times are UTC`, ...log].join("\n")}\n`;
}
