import { createReadStream } from "node:fs";
import type { DrawClass } from "../../../shared/draw-verdict.ts";
import { DrawClass as DrawClasses } from "../../../shared/draw-verdict.ts";
import type { WireJob } from "../../../shared/wire.ts";
import { attachmentPath } from "../../job/store/attachment-store.ts";
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
  return jobs.map((each) => ({
    id: each.job,
    title: each.title ?? each.board ?? each.short,
    startedAt: each.createdAt,
    class: classOf(each.lastClass),
  }));
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
