import type { BoardFile } from "../../../shared/files/board-file.ts";
import type { JobEventOf } from "../../../shared/record/job.ts";
import type {
  JobDiagnosis,
  WireCapturePoints,
  WireComparison,
  WireJobSheet,
  WireStoredRun,
} from "../../../shared/wire-job.ts";
import { capturePoints } from "../../capture/capture-points.ts";
import { jobArchive } from "../../job/archive/export-job.ts";
import { type FilingWishes, type Finding, findingIn } from "../../job/filing/file-findings.ts";
import { compareInRecord } from "../../job/known/compare-in-record.ts";
import { makeReport } from "../../job/report/make-report.ts";
import { eventsOf } from "../../job/store/current-events.ts";
import type { JobStore } from "../../job/store/job-store.ts";
import { runCsvParts } from "../run/run-csv.ts";
import { openRun } from "../run/stored-run.ts";
import { diagnosisOfJob } from "./diagnosis-of-job.ts";
import { jobSheet } from "./job-sheet.ts";
import { pictureOfRun } from "./picture-of-run.ts";
import { wirePoints } from "./wire-points.ts";

/** A window of a capture, milliseconds of its run, and how many points of a feed are wanted of it at most. */
export interface PointsWindow {
  fromMs?: number;
  toMs?: number;
  most: number;
}

/**
 * Answers worked out from the record; nothing is filed. Each may take seconds where a run was long; `job` is a whole id. The answer for
 * something that is not there is null.
 */
export interface RecordReads {
  sheet(job: string): Promise<WireJobSheet>;
  /** True where the job was handed back and did not come in again. */
  isClosed(job: string): Promise<boolean>;
  run(job: string, run: string): Promise<WireStoredRun | null>;
  points(job: string, capture: string, window: PointsWindow): Promise<WireCapturePoints | null>;
  diagnosis(job: string, board: BoardFile | null): Promise<JobDiagnosis | null>;
  /** The readings of a run as CSV, in parts. */
  csv(job: string, run: string): Promise<AsyncIterable<string> | null>;
  /** The bytes of the one file that another record imports. */
  archive(job: string): Promise<AsyncIterable<Uint8Array>>;
  compare(a: string, b: string): Promise<WireComparison>;
  /** The report as one page of HTML. */
  report(job: string): Promise<string>;
  /** The content of a file that was attached to the job, as far as it is about the board. */
  finding(job: string, attached: JobEventOf<"attachment">, wishes: FilingWishes): Promise<Finding>;
}

/** Those of the record `store`, worked out where they are asked for. */
export function recordReads(store: JobStore): RecordReads {
  return {
    sheet: async (job) => jobSheet(await store.show(job), store.set.isOwn),
    isClosed: async (job) => eventsOf(await store.events(job), "stage").at(-1)?.stage === "handed-back",
    run: async (job, run) => {
      const found = await openRun(store, job, run);
      if (found === null) return null;
      const { picture, trace } = await pictureOfRun(found, job);
      return { run: picture, trace };
    },
    points: async (job, capture, window) => {
      if (!(await store.captures(job)).some(({ id }) => id === capture)) return null;
      return wirePoints(capture, await capturePoints(store.captureDir, capture, { ...window, keep: true }));
    },
    diagnosis: (job, board) => diagnosisOfJob(store, job, board),
    csv: async (job, run) => {
      const found = await openRun(store, job, run);
      const parts = found === null ? null : runCsvParts(found);
      return parts === null ? null : inTurns(parts);
    },
    archive: (job) => jobArchive(store, job),
    compare: (a, b) => compareInRecord(store, a, b),
    report: (job) => makeReport(store, job),
    finding: (job, attached, wishes) => findingIn(store, job, attached, wishes),
  };
}

async function* inTurns(parts: Iterable<string>): AsyncGenerator<string> {
  yield* parts;
}
