import type {
  CaptureEntry,
  JobEvent,
  JobEventOf,
  JobRecord,
  JobSummary,
  StoredEvent,
} from "../../../shared/record/job.ts";
import type { EndState, JobRows, JobTables } from "../database/job-tables.ts";
import type { JobQuery } from "../find/find-jobs.ts";
import type { SimilarDraw } from "../find/similar-draws.ts";
import type { LocalSet } from "./local-set.ts";

/** The id of a job: a UUID version 7, lower case. */
export type JobId = string;

/** The record of one data directory. Every promise that resolves means: on the disk, and there after a power cut. */
export interface JobStore {
  readonly dir: string;
  readonly readOnly: boolean;
  /** The folder of the capture files. */
  readonly captureDir: string;
  /** The record as a set that merges with those of other benches. */
  readonly set: LocalSet;
  /** Opens a job; its first event is "opened". */
  newJob(job?: { title?: string; board?: string; comebackOf?: JobId }): Promise<JobId>;
  /** The job that a whole id or its shown form means; throws BenchError "bad-input" for none or several. */
  findJob(text: string): Promise<JobId>;
  /** The capture likewise. */
  findCapture(text: string): Promise<CaptureEntry & { job: JobId }>;
  /**
   * Files an event at the end of the job. Doing it again with the same `id` and event changes nothing and answers with
   * what was filed first, so a writer that got no answer may simply repeat. Throws BenchError "bad-input" where the id was
   * used for another event, the job is not there, or a correction names nothing that can be corrected.
   */
  appendEvent(job: JobId, event: JobEvent, options?: { id?: string }): Promise<StoredEvent>;
  /** The job's events in their order, which is the same in every record that holds the same events. */
  events(job: JobId): Promise<StoredEvent[]>;
  /** All jobs, newest first, or the `newest` so many of them. */
  list(newest?: number): Promise<JobSummary[]>;
  /** The jobs a query means, newest first, and whether there are more after them. */
  search(query: JobQuery): Promise<{ jobs: JobSummary[]; more: boolean }>;
  /** The jobs that came back from this one, in the order they were opened. */
  comebacksOf(job: JobId): Promise<JobId[]>;
  /** The draws most like that of a run, nearest first. */
  similar(run: string, most: number): Promise<SimilarDraw[]>;
  /**
   * The newest jobs whose board passed at some time and was of the kind named `board` by the job, a sweep or a run of it; newest first,
   * at most `newest`. What was taken back later is among them.
   */
  everPassed(board: string, newest: number): Promise<JobId[]>;
  show(job: JobId): Promise<JobRecord>;
  /** Keeps a file of at most 20 MiB and files it with the job. */
  attach(job: JobId, file: string, options?: { caption?: string }): Promise<StoredEvent>;
  /** As `attach`, from bytes that come in under a name. */
  attachBytes(job: JobId, bytes: Uint8Array, options: { name: string; caption?: string }): Promise<StoredEvent>;
  /** As `attachBytes`, from bytes that go to the disk as they come; they are never asked for twice. */
  attachStream(
    job: JobId,
    bytes: AsyncIterable<Uint8Array>,
    options: { name: string; caption?: string; by: "phone" },
  ): Promise<StoredEvent>;
  /** Notes that readings of `run` are being written under the id `capture`; again with the same ids changes nothing. */
  addCapture(job: JobId, capture: { id: string; run: string }): Promise<void>;
  /** Says that a capture is as long as it will get; the first word on it stands. */
  endCapture(capture: string, state: EndState): Promise<void>;
  captures(job: JobId): Promise<CaptureEntry[]>;
  /** Writes a whole, checked copy of the database to `to`; refuses where something is there. */
  backup(to: string): Promise<void>;
  hasJob(job: JobId): Promise<boolean>;
  /** The bytes kept under a hash; null where it is not. */
  attachment(sha256: string): Promise<JobTables["attachment"] | null>;
  /** All that is kept of a job in the database, as kept; what an archive is made of. */
  jobRows(job: JobId): Promise<JobRows>;
  /**
   * Takes in a job that is not here yet, all of it or nothing, and files how it came; its capture and attachment files must
   * be there already.
   */
  insertJobRows(rows: JobRows, came: JobEventOf<"imported">): Promise<void>;
  close(): Promise<void>;
}
