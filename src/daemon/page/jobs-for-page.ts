import { createHash } from "node:crypto";
import { BenchError } from "../../../shared/bench-error.ts";
import type { BoardFile } from "../../../shared/board-file.ts";
import { CorrectableEvent, type JobRecord, type StoredEvent } from "../../../shared/job.ts";
import type { WireJobEvent, WireJobRun, WireJobSheet } from "../../../shared/wire-job.ts";
import { capturePoints } from "../../capture/capture-points.ts";
import { jobArchive } from "../../job/archive/export-job.ts";
import { fileFindings } from "../../job/filing/file-findings.ts";
import { compareInRecord } from "../../job/known/compare-in-record.ts";
import { filedCold } from "../../job/known/filed-cold.ts";
import { eventText } from "../../job/report/event-text.ts";
import { makeReport } from "../../job/report/make-report.ts";
import { visibleText } from "../../job/report/visible-text.ts";
import type { JobStore } from "../../job/store/job-store.ts";
import { type JobRun, runsOf } from "../../job/store/runs-of.ts";
import type { PageJobs } from "../../wire/job-desk.ts";
import { runCsvParts } from "../run/run-csv.ts";
import { openRun } from "../run/stored-run.ts";
import { diagnosisOfJob } from "./diagnosis-of-job.ts";
import { pictureOfRun } from "./picture-of-run.ts";
import { lastPicture, wireJob } from "./record-of-desk.ts";
import { wirePoints } from "./wire-points.ts";

/** Larger files that a page sends are kept and not looked into: the daemon would have no time for anything else meanwhile. */
const LOOKED_INTO_BYTES = 4 * 1024 * 1024;

/** So many jobs are found at a time; who wants fewer says more of what is looked for. */
const MOST_FOUND = 60;

export interface PageJobsOptions {
  store: JobStore;
  /** The board of a job that the page opens. */
  board: () => string | null;
  /** The daemon's board, for a job no run of which names one. */
  boardFile: () => BoardFile | null;
  /** Told of every job that has something new in it. */
  onChange: (job: string) => void;
  /** Told of a job whose board was worked on. */
  onRepair: (job: string) => void;
}

/** The daemon's record as a page reads it and writes in it. */
export function jobsForPage({ store, board, boardFile, onChange, onRepair }: PageJobsOptions): PageJobs {
  const idOf = async (text: string): Promise<string | null> => {
    try {
      return await store.findJob(text);
    } catch (error) {
      if (error instanceof BenchError && error.code === "bad-input") return null;
      throw error;
    }
  };
  const inJob = async <Value>(text: string, act: (job: string) => Promise<Value>): Promise<Value | null> => {
    const job = await idOf(text);
    return job === null ? null : act(job);
  };
  const writing = async (text: string, act: (job: string) => Promise<unknown>): Promise<boolean> => {
    const job = await idOf(text);
    if (job === null) return false;
    await act(job);
    onChange(job);
    return true;
  };

  return {
    find: async ({ words, stage, result, state }) => {
      const { jobs, more } = await store.search({
        most: MOST_FOUND,
        ...(words === undefined || words === "" ? {} : { words }),
        ...(stage === undefined ? {} : { stage }),
        ...(result === undefined ? {} : { result }),
        ...(state === undefined ? {} : { state }),
      });
      return { jobs: jobs.map(wireJob), more };
    },
    picture: async (text) => {
      const job = await idOf(text);
      return job === null ? null : lastPicture(store, job);
    },
    sheet: (text) => inJob(text, async (job) => sheetOf(await store.show(job), store.set.isOwn)),
    run: (text, run) =>
      inJob(text, async (job) => {
        const found = await openRun(store, job, run);
        if (found === null) return null;
        const { picture, trace } = await pictureOfRun(found, job);
        return { run: picture, trace };
      }),
    points: (text, capture, window) =>
      inJob(text, async (job) => {
        if (!(await store.captures(job)).some(({ id }) => id === capture)) return null;
        return wirePoints(capture, await capturePoints(store.captureDir, capture, { ...window, keep: true }));
      }),
    diagnosis: (text) => inJob(text, (job) => diagnosisOfJob(store, job, boardFile())),
    csv: (text, run) =>
      inJob(text, async (job) => {
        const found = await openRun(store, job, run);
        return found === null ? null : runCsvParts(found);
      }),
    archive: (text) =>
      inJob(text, async (job) => ({ name: `job-${job.slice(-8)}.zip`, bytes: await jobArchive(store, job) })),
    compare: (a, b) => compareInRecord(store, a, b),
    newJob: async (title) => {
      const name = board();
      const job = await store.newJob({
        ...(title === null || title === "" ? {} : { title }),
        ...(name === null ? {} : { board: name }),
      });
      onChange(job);
      return job;
    },
    file: (text, event, id) =>
      writing(text, async (job) => {
        await store.appendEvent(job, event, { id });
        if (event.kind === "repair") onRepair(job);
      }),
    attach: (text, bytes, of) =>
      writing(text, async (job) => {
        const attached = await store.attachBytes(job, bytes, of);
        if (attached.event.kind === "attachment" && bytes.length <= LOOKED_INTO_BYTES)
          await fileFindings(store, job, attached.event);
        return attached;
      }),
    report: (text) =>
      inJob(text, async (job) => {
        const html = await makeReport(store, job);
        const name = `report-${job.slice(-8)}.html`;
        const sha256 = createHash("sha256").update(html).digest("hex");
        await store.appendEvent(job, { kind: "report-made", name, sha256 });
        onChange(job);
        return { name, html };
      }),
  };
}

function sheetOf(record: JobRecord, isOwn: (origin: string) => boolean): WireJobSheet {
  return {
    id: record.job,
    short: record.short,
    title: record.title,
    board: record.board,
    createdAt: record.createdAt,
    cold: coldOf(record.log, isOwn),
    // The acts of a run are in its capture and its end; its events are the machine's.
    events: record.log.filter((each) => each.event.kind !== "run-events").map(eventOf),
    runs: runsOf(record.log).map(runOf),
  };
}

/** The last cold reading of each point, also where they were filed apart, each with its own age. */
function coldOf(log: readonly StoredEvent[], isOwn: (origin: string) => boolean): WireJobSheet["cold"] {
  const nowMs = Date.now();
  const readings = Object.entries(filedCold(log, { nowMs, isOwn }));
  return Object.fromEntries(
    readings.map(([point, { ohms, ageMs, expired }]) => [
      point,
      { ohms, at: new Date(nowMs - ageMs).toISOString(), expired },
    ]),
  );
}

function eventOf({ id, seq, recordedAt, event }: StoredEvent): WireJobEvent {
  const said = event.kind === "correction" ? event.event : event;
  return {
    id,
    seq,
    at: recordedAt,
    kind: event.kind,
    text: visibleText(eventText(event)),
    file:
      said.kind === "attachment"
        ? {
            sha256: said.sha256,
            name: said.name,
            mediaType: said.mediaType,
            bytes: said.bytes,
            caption: said.caption,
          }
        : null,
    ...(said.kind === "note" && said.of !== undefined ? { of: { ...said.of, text: visibleText(said.text) } } : {}),
    correctable: CorrectableEvent.safeParse(event).success,
  };
}

function runOf({ header, end }: JobRun): WireJobRun {
  return {
    run: header.run,
    capture: header.capture,
    purpose: header.purpose,
    startedAt: header.startedAt,
    outcome: end?.outcome ?? null,
    verdict: end?.verdict ?? null,
    energyJoules: end?.energyJoules ?? null,
  };
}
