import type { JobEvent } from "../../shared/record/job.ts";
import type { AttachQuery, FindQuery } from "../../shared/wire-http.ts";
import type {
  JobDiagnosis,
  WireAttached,
  WireCapturePoints,
  WireComparison,
  WireFoundJobs,
  WireJobSheet,
  WireStoredRun,
} from "../../shared/wire-job.ts";

/**
 * The job record as a page works with it. What is not there is null; a `BenchError` of code "bad-input" is an answer for
 * the person, everything else a failure.
 */
export interface PageJobs {
  /** The jobs that are looked for, the newest first. */
  find(query: FindQuery): Promise<WireFoundJobs>;
  /** The last photograph of the job; null: it has none. */
  picture(job: string): Promise<{ mediaType: string; bytes: Uint8Array } | null>;
  sheet(job: string): Promise<WireJobSheet | null>;
  run(job: string, run: string): Promise<WireStoredRun | null>;
  /** A capture of the job in a window of time, at most `most` points a feed. */
  points(
    job: string,
    capture: string,
    window: { fromMs?: number; toMs?: number; most: number },
  ): Promise<WireCapturePoints | null>;
  /** The diagnosis from all that is filed; null where there is no such job, or no board file is known. */
  diagnosis(job: string): Promise<JobDiagnosis | null>;
  /** The readings of a run as CSV, in parts. */
  csv(job: string, run: string): Promise<AsyncIterable<string> | null>;
  /** The whole job as the one file that another record imports, and the name to save it under. */
  archive(job: string): Promise<{ name: string; bytes: AsyncIterable<Uint8Array> } | null>;
  /** `a`, `b`: a job or a capture each, as `job compare` takes them. */
  compare(a: string, b: string): Promise<WireComparison>;
  newJob(title: string | null): Promise<string>;
  /** Files what a person says; the same id again files nothing more. False: there is no such job. */
  file(job: string, event: JobEvent, id: string): Promise<boolean>;
  /** Keeps a file and files what it shows; null: there is no such job. */
  attach(job: string, bytes: Uint8Array, of: AttachQuery): Promise<WireAttached | null>;
  /** Whether the job may still be written to from afar: it is closed once it was handed back. null: there is none. */
  state(job: string): Promise<"open" | "closed" | null>;
  /** Files a photograph from a phone, if its bytes are those of a picture. It goes to the disk as it comes. */
  photograph(
    job: string,
    bytes: AsyncIterable<Uint8Array>,
    of: { name: string; caption?: string },
  ): Promise<"filed" | "not-an-image" | "no-job">;
  /** The report as one page of HTML, and the name to save it under; noted in the job. */
  report(job: string): Promise<{ name: string; html: string } | null>;
}
