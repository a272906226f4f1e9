import { createReadStream } from "node:fs";
import { readFile } from "node:fs/promises";
import type { DrawClass } from "../../../shared/draw-verdict.ts";
import { DrawClass as DrawClasses } from "../../../shared/draw-verdict.ts";
import type { JobSummary } from "../../../shared/record/job.ts";
import type { WireJob } from "../../../shared/wire.ts";
import { attachmentPath } from "../../job/store/attachment-store.ts";
import { eventsOf } from "../../job/store/current-events.ts";
import type { JobStore } from "../../job/store/job-store.ts";
import type { WireRecord } from "../../wire/bench-facade.ts";

const SHOWN = 50;

const classOf = (text: string | null): DrawClass | null => {
  const parsed = DrawClasses.safeParse(text);
  return parsed.success ? parsed.data : null;
};

/** The newest jobs as the page lists them. */
export async function wireJobs(store: JobStore): Promise<WireJob[]> {
  const jobs = await store.list(SHOWN);
  return jobs.map(wireJob);
}

/** A job as the page lists it. */
export function wireJob(job: JobSummary): WireJob {
  return {
    id: job.job,
    title: job.title ?? job.board ?? job.short,
    startedAt: job.createdAt,
    class: classOf(job.lastClass),
    ...(job.stage === null ? {} : { stage: job.stage }),
    ...(job.result === null ? {} : { result: job.result }),
  };
}

const PICTURES = new Set(["image/png", "image/jpeg", "image/webp"]);
/** A larger one is not read for a small picture in a list. */
const MOST_PICTURE_BYTES = 8 * 1024 * 1024;

/** The last photograph that was filed with a job; null where it has none, or none that can be read. */
export async function lastPicture(
  store: JobStore,
  job: string,
): Promise<{ mediaType: string; bytes: Uint8Array } | null> {
  const found = eventsOf(await store.events(job), "attachment").findLast(
    ({ mediaType, bytes }) => PICTURES.has(mediaType) && bytes <= MOST_PICTURE_BYTES,
  );
  if (found === undefined) return null;
  const bytes = await readFile(attachmentPath(store.dir, found.sha256)).catch(() => null);
  return bytes === null ? null : { mediaType: found.mediaType, bytes };
}

/** The job record as the wire may read it; what is not there is null, never an error. */
export function deskRecord(store: JobStore): WireRecord {
  const found = async (id: string): Promise<string | null> => {
    try {
      return await store.findJob(id);
    } catch {
      return null;
    }
  };
  return {
    jobs: () => wireJobs(store),
    job: async (id) => {
      const job = await found(id);
      return job === null ? null : store.show(job);
    },
    attachment: async (id, hash) => {
      const job = await found(id);
      if (job === null) return null;
      for (const { event } of await store.events(job)) {
        if (event.kind !== "attachment" || event.sha256 !== hash) continue;
        return {
          name: event.name,
          mediaType: event.mediaType,
          bytes: createReadStream(attachmentPath(store.dir, hash)),
        };
      }
      return null;
    },
  };
}
