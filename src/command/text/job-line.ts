import type { JobSummary } from "../../../shared/record/job.ts";
import { classInWords } from "../../../shared/words/class-words.ts";
import { counted } from "../../../shared/words/counted.ts";
import { csvCell } from "../../job/report/csv-cell.ts";
import { visibleLine as oneLine } from "../../job/report/visible-text.ts";

/** A job in a line of a terminal. */
export function jobLine(job: JobSummary): string {
  const { short, createdAt, title, board, runs, lastClass, stage, result, bench } = job;
  const what = [title, board].filter((each) => each !== null).map(oneLine);
  const ran =
    runs === 0 ? "no run" : `${counted(runs, "run")}${lastClass === null ? "" : `, ${classInWords(lastClass)}`}`;
  const stands = [stage, result].filter((each) => each !== null).map(oneLine);
  // A record that belongs to no shop has one bench, of no name of its own.
  const where = bench === null || bench === "bench" ? "" : `  [${bench}]`;
  const now = stands.length === 0 ? "" : `  ${stands.join(", ")}`;
  return `${short}  ${createdAt.slice(0, 10)}  ${what.join(", ") || "(no title)"}  (${ran})${now}${where}`;
}

/** All jobs as CSV (RFC 4180): every cell quoted, none a formula. */
export function jobsCsv(jobs: readonly JobSummary[]): string {
  const rows = [
    [
      "job",
      "title",
      "board",
      "created_at",
      "events",
      "runs",
      "last_event_at",
      "last_class",
      "result",
      "stage",
      "state",
      "bench",
    ],
    ...jobs.map((job) => [
      job.job,
      job.title ?? "",
      job.board ?? "",
      job.createdAt,
      job.events,
      job.runs,
      job.lastEventAt,
      job.lastClass ?? "",
      job.result ?? "",
      job.stage ?? "",
      job.state,
      job.bench ?? "",
    ]),
  ];
  return rows.map((row) => `${row.map(csvCell).join(",")}\r\n`).join("");
}
