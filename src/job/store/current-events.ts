import type { JobEvent, JobEventOf, StoredEvent } from "../../../shared/record/job.ts";

/** An event as it reads today, with how often it was put right. */
export interface CurrentEvent {
  id: string;
  recordedAt: string;
  /** Who filed it; null for events from before that was kept. */
  origin: string | null;
  event: Exclude<JobEvent, { kind: "correction" }>;
  corrections: number;
}

/** The log with each correction applied where the original stood; the log itself keeps both. */
export function currentEvents(log: readonly StoredEvent[]): CurrentEvent[] {
  const byId = new Map<string, CurrentEvent>();
  for (const { id, recordedAt, origin = null, event } of log) {
    if (event.kind !== "correction") {
      byId.set(id, { id, recordedAt, origin, event, corrections: 0 });
      continue;
    }
    const original = byId.get(event.of);
    if (original === undefined) continue;
    original.event = event.event;
    original.corrections++;
  }
  return [...byId.values()];
}

/** The events of one kind as they read today. */
export function eventsOf<K extends Exclude<JobEvent["kind"], "correction">>(
  log: readonly StoredEvent[],
  kind: K,
): JobEventOf<K>[] {
  return currentEvents(log)
    .map((each) => each.event)
    .filter((event): event is JobEventOf<K> => event.kind === kind);
}
