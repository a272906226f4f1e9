import type { JobSummary, StoredEvent } from "../../shared/job.ts";
import { eventsOf } from "./current-events.ts";
import { shortId } from "./uuid-v7.ts";

/** One line about a job, a fold of its events. `log` may lack kinds that do not count here, so `events` is handed in. */
export function jobSummary(
  job: { id: string; createdAt: string },
  log: readonly StoredEvent[],
  counts: { events: number; lastEventAt: string },
): JobSummary {
  const opened = eventsOf(log, "opened").at(-1);
  const lastVerdict = eventsOf(log, "run-ended")
    .map((each) => each.end.verdict)
    .filter((verdict) => verdict !== null)
    .at(-1);
  return {
    job: job.id,
    short: shortId(job.id),
    title: opened?.title ?? null,
    board: opened?.board ?? null,
    createdAt: job.createdAt,
    events: counts.events,
    runs: eventsOf(log, "run-started").length,
    lastEventAt: counts.lastEventAt,
    lastClass: lastVerdict?.class ?? null,
  };
}
