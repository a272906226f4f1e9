import type { CaptureState, JobEvent } from "../../../shared/record/job.ts";

/**
 * The tables as Kysely sees them. Times are ISO 8601 text, so that every dialect holds and orders them alike. A row is filed
 * once and never changed, but for `exchange` and `sent`.
 */
export interface JobTables {
  job: { id: string; created_at: string };
  /** `body` is the JSON of one JobEvent, `stamp` its place in the order of events (stamp.ts). */
  job_event: {
    id: string;
    job: string;
    stamp: string;
    recorded_at: string;
    kind: JobEvent["kind"];
    body: string;
  };
  /** The readings themselves are files. */
  capture: { id: string; job: string; run: string };
  /** A capture without a row here is still being written, or its bytes have not come yet. */
  capture_end: { capture: string; state: EndState };
  /** The bytes are a file named by the hash. */
  attachment: { sha256: string; bytes: number; media_type: string };
  /** The origins this record files under, the last one by `since` now; `no` of each counts in `log`. */
  origin: { id: string; since: string };
  /** The entries that each origin filed, numbered by it from 1: how far another record has seen it. */
  log: { origin: string; no: number; event: string };
  /** The length of an own origin's log that the shop's database is known to hold. */
  exchange: { origin: string; known: number };
  /** Captures and attachments, by id or hash, that the shop's database is known to hold. */
  sent: { file: string };

  // The tables below are derived from events, to find jobs by.
  /**
   * `value` is as values are compared by; `said` the JSON of the text as it was typed, for what a list shows. `original` is
   * the event that a correction stands in for, else the event itself.
   */
  job_fact: {
    event: string;
    field: FactField;
    value: string;
    said: string | null;
    job: string;
    original: string;
    stamp: string;
  };
  /** What a job said last of a field, corrections left out of account; kept by the database itself. */
  job_last: { job: string; field: LastField; value: string; stamp: string };
  /** The words of an event, and of the others of its job that were filed with it. */
  event_words: { event: string; job: string; words: string };
  /** The figures of a judged draw. */
  draw: DrawRow;

  // In the shop's database only.
  /** The file of a capture, whole; no hash where its run was killed before the first reading. */
  capture_file: { capture: string; sha256: string | null; bytes: number; state: EndState };
  /** A part of a file's bytes; parts count from 0. */
  chunk: { sha256: string; part: number; data: Buffer };
}

export type EndState = Exclude<CaptureState, "open">;

export type FactField =
  | "opened"
  | "title"
  | "board"
  | "owner"
  | "serial"
  | "result"
  | "stage"
  | "comeback-of"
  | "run"
  | "class"
  | "fault"
  | "part"
  | "file"
  | "corrected";

/** Fields of which the last value counts. */
export type LastField = Extract<FactField, "result" | "stage" | "class">;

export interface DrawRow {
  run: string;
  job: string;
  capture: string;
  board: string | null;
  class: string;
  plateau_amps: number | null;
  plateau_u: number | null;
  peak_amps: number | null;
  charge_coulombs: number | null;
  input_farads: number | null;
  short_ohms: number | null;
  period_ms: number | null;
}

/** The rows of one job, events in their order, the others in order of their ids. */
export interface JobRows {
  job: JobTables["job"];
  events: JobTables["job_event"][];
  captures: (JobTables["capture"] & { state: CaptureState })[];
  attachments: JobTables["attachment"][];
}
