import type { PlanEvent } from "../../../shared/plan.ts";
import type { RunEnd, RunHeader } from "../../../shared/record/run-record.ts";
import type { StoredReading } from "../../capture/chunk-format.ts";
import { captureBytes, storedReadings } from "../../capture/read-capture.ts";
import { eventsOf } from "../../job/store/current-events.ts";
import type { JobStore } from "../../job/store/job-store.ts";
import { runsOf } from "../../job/store/runs-of.ts";

/**
 * A run as it was filed: with its header, its events are enough to come to its outcome and verdict again. They are read one by one: a day
 * of readings needs no room then.
 */
export interface OpenRun {
  header: RunHeader;
  /** null where its process died before the end. */
  end: RunEnd | null;
  events(): Generator<PlanEvent>;
}

/**
 * A run of a job, its last one where none is named; null where it has none or not this one. The readings are made of the capture's
 * bytes as they are asked for. Throws BenchError "bad-input" where its capture cannot be read.
 */
export async function openRun(store: JobStore, job: string, wanted: string | null = null): Promise<OpenRun | null> {
  const log = await store.events(job);
  const run = runsOf(log).findLast((each) => wanted === null || each.header.run === wanted);
  if (run === undefined) return null;
  const { header, end } = run;
  const bytes = await captureBytes(store.captureDir, header.capture);
  const others = eventsOf(log, "run-events").flatMap((each) => (each.run === header.run ? each.events : []));
  return { header, end, events: () => inOrder(others, storedReadings(bytes, header.capture)) };
}

/** The events of a run as they came: two lists, each in order of time, made one. */
function* inOrder(others: readonly PlanEvent[], readings: Iterator<StoredReading>): Generator<PlanEvent> {
  const nextReading = (): PlanEvent | null => {
    const { done, value } = readings.next();
    return done === true ? null : { event: "reading", atMs: value.eventAtMs, reading: value.reading };
  };
  let reading = nextReading();
  for (const other of others) {
    for (; reading !== null && reading.atMs < other.atMs; reading = nextReading()) yield reading;
    yield other;
  }
  for (; reading !== null; reading = nextReading()) yield reading;
}
