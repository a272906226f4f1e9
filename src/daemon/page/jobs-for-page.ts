import { createHash } from "node:crypto";
import { BenchError } from "../../../shared/bench-error.ts";
import type { BoardFile } from "../../../shared/files/board-file.ts";
import type { JobEvent } from "../../../shared/record/job.ts";
import type { AttachQuery } from "../../../shared/wire-http.ts";
import type { WireAttached } from "../../../shared/wire-job.ts";
import { counted } from "../../../shared/words/counted.ts";
import { eventText } from "../../job/report/event-text.ts";
import { visibleText } from "../../job/report/visible-text.ts";
import { HEAD_BYTES } from "../../job/store/attachment-store.ts";
import type { JobStore } from "../../job/store/job-store.ts";
import { mediaTypeOf } from "../../job/store/media-type.ts";
import type { PageJobs } from "../../wire/job-desk.ts";
import type { RecordReads } from "../reads/record-reads.ts";
import { headOf } from "./head-of.ts";
import { lastPicture, wireJob } from "./record-of-desk.ts";

/** Larger files that a page sends are kept and not looked into. */
const LOOKED_INTO_BYTES = 4 * 1024 * 1024;

/** So many jobs are found at a time; who wants fewer says more of what is looked for. */
const MOST_FOUND = 60;

export interface PageJobsOptions {
  store: JobStore;
  reads: RecordReads;
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
export function jobsForPage({ store, reads, board, boardFile, onChange, onRepair }: PageJobsOptions): PageJobs {
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
    sheet: (text) => inJob(text, reads.sheet),
    run: (text, run) => inJob(text, (job) => reads.run(job, run)),
    points: (text, capture, window) => inJob(text, (job) => reads.points(job, capture, window)),
    diagnosis: (text) => inJob(text, (job) => reads.diagnosis(job, boardFile())),
    csv: (text, run) => inJob(text, (job) => reads.csv(job, run)),
    archive: (text) =>
      inJob(text, async (job) => ({ name: `job-${job.slice(-8)}.zip`, bytes: await reads.archive(job) })),
    compare: (a, b) => reads.compare(a, b),
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
      inJob(text, async (job) => {
        const attached = await attachedFile({ store, reads }, { job, bytes, of, board: boardFile() });
        onChange(job);
        return attached;
      }),
    state: (text) => inJob(text, async (job) => ((await reads.isClosed(job)) ? "closed" : "open")),
    photograph: async (text, bytes, of) => {
      const job = await idOf(text);
      if (job === null || (await reads.isClosed(job))) return "no-job";
      const head = await headOf(bytes, HEAD_BYTES);
      if (!mediaTypeOf(head.bytes).startsWith("image/")) return "not-an-image";
      await store.attachStream(job, head.whole(), { ...of, by: "phone" });
      onChange(job);
      return "filed";
    },
    report: (text) =>
      inJob(text, async (job) => {
        const html = await reads.report(job);
        const name = `report-${job.slice(-8)}.html`;
        const sha256 = createHash("sha256").update(html).digest("hex");
        await store.appendEvent(job, { kind: "report-made", name, sha256 });
        onChange(job);
        return { name, html };
      }),
  };
}

/** Keeps a file that a page sent, and files what it shows of the board. */
async function attachedFile(
  { store, reads }: Pick<PageJobsOptions, "store" | "reads">,
  file: { job: string; bytes: Uint8Array; of: AttachQuery; board: BoardFile | null },
): Promise<WireAttached> {
  const { job, bytes, of, board } = file;
  const { name, caption, port, control, clockAhead } = of;
  const { event: kept } = await store.attachBytes(job, bytes, caption === undefined ? { name } : { name, caption });
  if (kept.kind !== "attachment") return { filed: true, found: null, notes: [] };
  // A photograph shows nothing that is read here, whatever its size.
  if (kept.mediaType.startsWith("image/")) return { filed: true, found: null, notes: [] };
  if (bytes.length > LOOKED_INTO_BYTES) {
    const note = `${name} is stored. It is too large to be looked into here; use job attach for that.`;
    return { filed: true, found: null, notes: [note] };
  }
  const { events, notes } = await reads.finding(job, kept, {
    ...(board === null ? {} : { usualBoard: board }),
    ...(port === undefined ? {} : { port }),
    ...(control === undefined ? {} : { control: true }),
    ...(clockAhead === undefined ? {} : { clockAheadMs: 1000 * clockAhead }),
  });
  for (const event of events) await store.appendEvent(job, event);
  return { filed: true, found: events.length === 0 ? null : visibleText(foundText(name, events)), notes };
}

/** So many tests of a file are named; the record lists all. */
const NAMED = 12;

function foundText(name: string, events: readonly JobEvent[]): string {
  const texts = events.map(eventText);
  if (events[0]?.kind !== "test") return texts.join("\n");
  const more = texts.length > NAMED ? [`and ${texts.length - NAMED} more, all in the record`] : [];
  return [`${counted(texts.length, "test")} of ${name} filed:`, ...texts.slice(0, NAMED), ...more].join("\n");
}
