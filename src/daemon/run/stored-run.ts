import type { PlanEvent } from "../../../shared/plan.ts";
import type { RunEnd, RunHeader } from "../../../shared/run-record.ts";
import { readCapture } from "../../capture/read-capture.ts";
import { eventsOf } from "../../job/store/current-events.ts";
import type { JobStore } from "../../job/store/job-store.ts";
import { runsOf } from "../../job/store/runs-of.ts";

/** A run as it was filed: with its header, its events are enough to come to its outcome and verdict again. */
export interface StoredRun {
  header: RunHeader;
  /** null where its process died before the end. */
  end: RunEnd | null;
  events: PlanEvent[];
}

/**
 * A run of a job, its last one where none is named; null where it has none or not this one. Throws BenchError "bad-input"
 * where its capture cannot be read.
 */
export async function storedRun(store: JobStore, job: string, wanted: string | null = null): Promise<StoredRun | null> {
  const log = await store.events(job);
  const run = runsOf(log).findLast((each) => wanted === null || each.header.run === wanted);
  if (run === undefined) return null;
  const { header, end } = run;
  const capture = await readCapture(store.captureDir, header.capture);
  const readings = capture.readings.map(
    (reading, index): PlanEvent => ({ event: "reading", atMs: capture.eventAtMs[index] ?? reading.atMs, reading }),
  );
  const others = eventsOf(log, "run-events").flatMap((each) => (each.run === header.run ? each.events : []));
  return { header, end, events: [...inOrder(others, readings)] };
}

/** The events of a run as they came: two lists, each in order of time, made one. */
function* inOrder(others: readonly PlanEvent[], readings: readonly PlanEvent[]): Generator<PlanEvent> {
  let next = 0;
  for (const other of others) {
    for (let reading = readings[next]; reading !== undefined && reading.atMs < other.atMs; reading = readings[next]) {
      yield reading;
      next++;
    }
    yield other;
  }
  yield* readings.slice(next);
}
