import type { JobEvent, StoredEvent } from "../../../shared/record/job.ts";
import { currentEvents } from "../store/current-events.ts";

/**
 * The entries that tell of the board as it is: those filed after its last repair, as they read today, and `now`, which are about to be
 * filed. A test or a host's look that says itself that it was done before the repair was filed is one of the board before it.
 */
export function sinceRepair(log: readonly StoredEvent[], now: readonly JobEvent[] = []): JobEvent[] {
  const entries = currentEvents(log);
  const last = entries.findLastIndex(({ event }) => event.kind === "repair");
  const since = [...entries.slice(last + 1).map(({ event }) => event), ...now];
  return since.filter((event) => !isBefore(event, entries[last]?.recordedAt));
}

/** Sentences on what is about to be filed and counts for the board before its last repair only. */
export function notesOnRepair(log: readonly StoredEvent[], events: readonly JobEvent[]): string[] {
  const repairedAt = currentEvents(log).findLast(({ event }) => event.kind === "repair")?.recordedAt;
  return events
    .filter((event) => isBefore(event, repairedAt))
    .map((event) => {
      const what = event.kind === "test" ? `The test "${event.test.name}"` : "This look at the host";
      return `${what} is dated ${doneAt(event)}, before the last repair was filed (${repairedAt}): it counts for the board before the repair. If that is wrong, correct its date or file it without one.`;
    });
}

const isBefore = (event: JobEvent, repairedAt: string | undefined): boolean => {
  const at = doneAt(event);
  return repairedAt !== undefined && at !== null && Date.parse(at) < Date.parse(repairedAt);
};

/** When it was done, by its own word and this bench's clock; null: it does not say. */
function doneAt(event: JobEvent): string | null {
  if (event.kind === "test") return event.test.doneAt ?? null;
  if (event.kind !== "host-look" || event.look.lookedAt === null) return null;
  return new Date(Date.parse(event.look.lookedAt) - (event.clockAheadMs ?? 0)).toISOString();
}
