import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { DrawVerdict } from "../../shared/draw-verdict.ts";
import type { JobEvent } from "../../shared/record/job.ts";
import { type RunEnd, RunHeader } from "../../shared/record/run-record.ts";
import { openCaptureWriter } from "../../src/capture/chunk-store.ts";
import type { JobStore } from "../../src/job/store/job-store.ts";
import { type OpenJobStoreOptions, openJobStore } from "../../src/job/store/open-job-store.ts";
import type { LoggedEvent } from "../../src/job/store/record-set.ts";
import { StampClock } from "../../src/job/store/stamp.ts";
import { uuidV7 } from "../../src/job/store/uuid-v7.ts";
import sampleRun from "./sample-run.json" with { type: "json" };

/** Runs `work` on a folder that is gone afterwards. */
export async function withFolder<T>(work: (dir: string) => Promise<T>): Promise<T> {
  const dir = mkdtempSync(join(tmpdir(), "firstamp-job-"));
  try {
    return await work(dir);
  } finally {
    rmSync(dir, { recursive: true, force: true });
  }
}

export type WithStore = <T>(
  work: (store: JobStore, dir: string) => Promise<T>,
  options?: OpenJobStoreOptions,
) => Promise<T>;

/** Runs `work` on a record of its own; no ballast, for speed, unless asked for. */
export const withStore = <T>(
  work: (store: JobStore, dir: string) => Promise<T>,
  options: OpenJobStoreOptions = {},
): Promise<T> =>
  withFolder(async (dir) => {
    const store = await openJobStore(dir, { ballastBytes: 0, ...options });
    try {
      return await work(store, dir);
    } finally {
      await store.close();
    }
  });

export function sampleHeader(changes: Partial<RunHeader> = {}): RunHeader {
  return { ...RunHeader.parse({ ...structuredClone(sampleRun.header), run: uuidV7(), capture: uuidV7() }), ...changes };
}

export function sampleVerdict(changes: Partial<DrawVerdict> & { plateauAmps?: number | null } = {}): DrawVerdict {
  const { plateauAmps = 0.82, ...rest } = changes;
  const { features, ...verdict } = DrawVerdict.parse(structuredClone(sampleRun.verdict));
  return { ...verdict, features: { ...features, plateauAmps }, ...rest };
}

export const sampleEnd = (header: RunHeader, verdict: DrawVerdict | null, changes: Partial<RunEnd> = {}): RunEnd => ({
  run: header.run,
  capture: header.capture,
  endedAtMs: 16000,
  outcome: { ended: "as-planned", trip: null, output: "off", limitToTry: null, raises: 0, reachedStage: "off" },
  verdict,
  energyJoules: verdict?.energyJoules ?? null,
  roundTrip: {},
  ...changes,
});

/** Events of one job as another bench logged them, numbered from 1. */
export function loggedElsewhere(events: readonly JobEvent[], origin = "elsewhere~00000001"): LoggedEvent[] {
  const clock = new StampClock(origin, () => Date.UTC(2026, 10, 25));
  const [job, at] = [uuidV7(), "2026-11-25T08:00:00.000Z"];
  return events.map((event, index) => ({
    no: index + 1,
    event: {
      id: event.kind === "run-started" ? event.header.run : uuidV7(),
      job,
      stamp: clock.next(),
      recorded_at: at,
      kind: event.kind,
      body: JSON.stringify(event),
    },
    jobCreatedAt: at,
  }));
}

/** Files a whole run with a capture of `amps`, ten milliseconds apart. */
export async function fileRun(
  store: JobStore,
  job: string,
  { header = sampleHeader(), verdict = sampleVerdict(), amps = [0, 2, 0.82, 0.82] } = {},
): Promise<RunHeader> {
  await store.appendEvent(job, { kind: "run-started", header }, { id: header.run });
  await store.addCapture(job, { id: header.capture, run: header.run });
  const writer = await openCaptureWriter(store.captureDir, header.capture);
  amps.forEach((each, index) => {
    const atMs = 10 * index;
    writer.append(
      {
        feed: "aux",
        queriedAtMs: atMs - 4,
        atMs,
        volts: { kind: "value", volts: 12 },
        amps: { kind: "value", amps: each },
        mode: "cv",
        together: true,
      },
      atMs,
    );
  });
  await writer.close();
  await store.appendEvent(job, { kind: "run-events", run: header.run, events: [{ event: "begin", atMs: 0 }] });
  await store.endCapture(header.capture, "closed");
  await store.appendEvent(job, { kind: "run-ended", end: sampleEnd(header, verdict) });
  return header;
}
