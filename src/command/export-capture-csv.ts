import { createWriteStream } from "node:fs";
import { pipeline } from "node:stream/promises";
import { BenchError, quoted } from "../../shared/bench-error.ts";
import type { PlanEvent } from "../../shared/plan.ts";
import { captureCsvParts } from "../capture/csv-capture.ts";
import { readCapture } from "../capture/read-capture.ts";
import { accuracyOf, foldRun } from "../daemon/run-fold.ts";
import { eventsOf } from "../job/current-events.ts";
import type { JobStore } from "../job/job-store.ts";
import { runsOf } from "../job/runs-of.ts";
import { storageProblem } from "../job/storage-problem.ts";

/**
 * Writes the readings of a job's last run as CSV with the stage, set-point and limit of each, so that `classify` comes to the
 * run's own verdict. Throws BenchError "bad-input" where there is no run or the file is there already.
 */
export async function exportCaptureCsv(
  store: JobStore,
  job: string,
  out: string,
): Promise<{ capture: string; done: "written" }> {
  const log = await store.events(job);
  const header = runsOf(log).at(-1)?.header;
  if (header === undefined) throw new BenchError("bad-input", "The job has no run; nothing was written");
  const capture = await readCapture(store.captureDir, header.capture);
  const readings = capture.readings.map(
    (reading, index): PlanEvent => ({ event: "reading", atMs: capture.eventAtMs[index] ?? reading.atMs, reading }),
  );
  const others = eventsOf(log, "run-events").flatMap((each) => (each.run === header.run ? each.events : []));
  const { traces } = foldRun(header.plan, inOrder(others, readings), accuracyOf(header));
  try {
    await pipeline(captureCsvParts(traces), createWriteStream(out, { flags: "wx" }));
  } catch (cause) {
    if (cause instanceof Error && "code" in cause && cause.code === "EEXIST") {
      throw new BenchError(
        "bad-input",
        `Cannot write ${quoted(out)}: a file is there; nothing was written, give another name`,
        { cause },
      );
    }
    throw storageProblem(cause, `Cannot write ${quoted(out)}`);
  }
  return { capture: header.capture, done: "written" };
}

/** The events of a run as they came: two lists, each in order of time, made one. */
export function* inOrder(others: readonly PlanEvent[], readings: readonly PlanEvent[]): Generator<PlanEvent> {
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
