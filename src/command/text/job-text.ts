import type { JobRecord, JobSummary } from "../../../shared/job.ts";
import { csvCell } from "../../job/report/csv-cell.ts";
import { eventText } from "../../job/report/report-appendix.ts";
import { visibleText } from "../../job/report/visible-text.ts";

const oneLine = (text: string): string => visibleText(text).replace(/[\n\t]+/g, " ");

/** A job in a line of a terminal. */
export function jobLine({ short, createdAt, title, board, runs, lastClass }: JobSummary): string {
  const what = [title, board].filter((each) => each !== null).map(oneLine);
  const ran =
    runs === 0 ? "no run" : `${runs} ${runs === 1 ? "run" : "runs"}${lastClass === null ? "" : `, ${lastClass}`}`;
  return `${short}  ${createdAt.slice(0, 10)}  ${what.join(", ") || "(no title)"}  (${ran})`;
}

/** A job with its log, for a terminal. */
export function jobText(record: JobRecord): string {
  const log = record.log.map(
    ({ seq, recordedAt, event }) =>
      `${String(seq).padStart(4)}  ${recordedAt.slice(0, 19).replace("T", " ")}  ${event.kind.padEnd(13)}  ${oneLine(eventText(event))}`,
  );
  return `${[jobLine(record), `id ${record.job}; times are UTC`, ...log].join("\n")}\n`;
}

/** All jobs as CSV (RFC 4180): every cell quoted, none a formula. */
export function jobsCsv(jobs: readonly JobSummary[]): string {
  const rows = [
    ["job", "title", "board", "created_at", "events", "runs", "last_event_at", "last_class"],
    ...jobs.map((job) => [
      job.job,
      job.title ?? "",
      job.board ?? "",
      job.createdAt,
      job.events,
      job.runs,
      job.lastEventAt,
      job.lastClass ?? "",
    ]),
  ];
  return rows.map((row) => `${row.map(csvCell).join(",")}\r\n`).join("");
}
