import type { CaptureState, JobEvent } from "../../../shared/job.ts";

/** The tables as Kysely sees them. Times are ISO 8601 text, so that every dialect holds and orders them alike. */
export interface JobTables {
  job: { id: string; created_at: string };
  /** Append-only. `body` is the JSON of one JobEvent. */
  job_event: {
    id: string;
    job: string;
    seq: number;
    recorded_at: string;
    kind: JobEvent["kind"];
    body: string;
  };
  /** The readings themselves are files; only `state` ever changes. */
  capture: { id: string; job: string; run: string; state: CaptureState };
  /** Append-only. The bytes are a file named by the hash. */
  attachment: { sha256: string; bytes: number; media_type: string };
}

/** The rows of one job, events in order of `seq`, the others in order of their ids. */
export interface JobRows {
  job: JobTables["job"];
  events: JobTables["job_event"][];
  captures: JobTables["capture"][];
  attachments: JobTables["attachment"][];
}
