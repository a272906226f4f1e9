import type { JobSummary, StoredEvent } from "../../../shared/job.ts";
import { eventsOf } from "./current-events.ts";
import { shortId } from "./uuid-v7.ts";

/** What is told of a job's runs and events without reading them whole. */
export interface JobCounts {
  events: number;
  runs: number;
  lastEventAt: string;
  /** Of the last run that was judged. */
  lastClass: string | null;
}

/** One line about a job; of its `log` only what opened it, and corrections of that, count. */
export function jobSummary(
  job: { id: string; createdAt: string },
  log: readonly StoredEvent[],
  { events, runs, lastEventAt, lastClass }: JobCounts,
): JobSummary {
  const opened = eventsOf(log, "opened").at(-1);
  return {
    job: job.id,
    short: shortId(job.id),
    title: opened?.title ?? null,
    board: opened?.board ?? null,
    createdAt: job.createdAt,
    events,
    runs,
    lastEventAt,
    lastClass,
  };
}
