import { schemaProblem } from "../../../shared/files/schema-problem.ts";
import { ArchivedEvent, type ArchiveManifest } from "../../../shared/record/job-archive.ts";
import type { JobRows, JobTables } from "../database/job-tables.ts";
import { parseStamp } from "../store/stamp.ts";

export const MANIFEST = "job.json";
export const EVENTS = "events.jsonl";

const CAPTURE_FILE = /^captures\/([0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12})\.chunks$/;

/** The capture a name in an archive belongs to, or null where it names no file of a capture. */
export const captureOfEntry = (name: string): string | null => CAPTURE_FILE.exec(name)?.[1] ?? null;

export const captureEntry = (id: string): string => `captures/${id}.chunks`;
export const attachmentEntry = (sha256: string): string => `attachments/${sha256}`;

/**
 * One event as a line of `events.jsonl`, without its line end. An event from before stamps were kept has none: its stamp
 * follows from the lines (`stampsOfOld`).
 */
export function eventLine(row: JobTables["job_event"], seq: number): string {
  const stamp = isStamped(row) ? `,"stamp":${JSON.stringify(row.stamp)}` : "";
  return `{"id":${JSON.stringify(row.id)},"seq":${seq},"recordedAt":${JSON.stringify(row.recorded_at)}${stamp},"event":${row.body}}`;
}

/** Whether an event has a stamp of its own, rather than one that follows from its job. */
const isStamped = ({ stamp }: { stamp: string }): boolean => (parseStamp(stamp)?.origin ?? "") !== "";

/** The form of an archive with these events: 2 has stamps, which an older program does not know. */
export const formOf = (events: readonly { stamp: string }[]): 1 | 2 => (events.some(isStamped) ? 2 : 1);

/**
 * The line at place `seq` back as a row, its stamp empty where the line has none; or the sentence that says why it is not
 * one: it must be exactly what `eventLine` writes.
 */
export function eventRow(job: string, line: string, seq: number): JobTables["job_event"] | string {
  let document: unknown;
  try {
    document = JSON.parse(line);
  } catch {
    return "is not JSON";
  }
  const parsed = ArchivedEvent.safeParse(document);
  if (!parsed.success) return `is not an event this program knows: ${schemaProblem(parsed.error)}`;
  const { id, recordedAt, event, stamp = "" } = parsed.data;
  if (parsed.data.seq !== seq) return `is event ${parsed.data.seq}; an event is missing`;
  if (stamp !== "" && !isStamped({ stamp })) return `has the stamp "${stamp}", which is not a valid stamp`;
  const body = JSON.stringify((document as { event: unknown }).event);
  const row = { id, job, stamp, recorded_at: recordedAt, kind: event.kind, body };
  return eventLine(row, seq) === line ? row : "is not written the way this program writes it";
}

/** The manifest's text; the same job always gives the same text. */
export const manifestText = (manifest: ArchiveManifest): string => `${JSON.stringify(manifest, null, 1)}\n`;

/** The manifest's account of the database's rows. */
export const manifestHead = (
  rows: JobRows,
): Pick<ArchiveManifest, "format" | "version" | "job" | "captures" | "attachments"> => ({
  format: "firstamp-job",
  version: formOf(rows.events),
  job: { id: rows.job.id, createdAt: rows.job.created_at },
  // Only asked for when nothing is being written, so one that is still open was left so by a process that died.
  captures: rows.captures.map(({ id, run, state }) => ({ id, run, state: state === "open" ? "recovered" : state })),
  attachments: rows.attachments.map((each) => ({ sha256: each.sha256, bytes: each.bytes, mediaType: each.media_type })),
});
