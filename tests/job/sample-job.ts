import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import type { DrawVerdict } from "../../shared/draw-verdict.ts";
import type { PlanFeed } from "../../shared/plan.ts";
import type { RunEnd, RunHeader } from "../../shared/run-record.ts";
import { openCaptureWriter } from "../../src/capture/chunk-store.ts";
import type { JobStore } from "../../src/job/store/job-store.ts";
import { type OpenJobStoreOptions, openJobStore } from "../../src/job/store/open-job-store.ts";
import { uuidV7 } from "../../src/job/store/uuid-v7.ts";

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

const aux: PlanFeed = {
  feed: "aux",
  order: 1,
  supply: "psu",
  channel: 1,
  nominalVolts: 12,
  tolerance: [-0.08, 0.05],
  limitAmps: 5,
  maxVolts: 13.2,
  leadOhms: 0.04,
  sense: "local",
  readsAtSense: "unknown",
  stepVolts: 0.001,
  stepAmps: 0.001,
  offsetAmps: 0.003,
  hasOverVoltage: true,
  hasOverCurrent: true,
  supplyRiseMs: 20,
  readIntervalMs: 10,
  inputFaradsMax: 0.004,
  coldOhms: 12400,
  touch: { volts: 0.9, limitAmps: 0.3, overVolts: 1.5, maxMs: 300 },
  holdLow: { volts: 3, limitAmps: 0.3, overVolts: 3.45, maxMs: 500 },
  nominal: { volts: 12, limitAmps: 3, overVolts: 13.2, maxMs: 15000 },
  ladderAmps: [],
  twoLimitAmps: [0.2, 0.4],
  allowedLimitingMs: 250,
};

export function sampleHeader(changes: Partial<RunHeader> = {}): RunHeader {
  return {
    run: uuidV7(),
    capture: uuidV7(),
    purpose: "powerup",
    startedAt: "2026-11-25T10:00:00.000Z",
    program: "firstamp test",
    plan: {
      version: 1,
      name: "first-power-up",
      feeds: [aux],
      watch: { seconds: 15, slowestPeriodMs: 3000 },
      maxOnMs: 15000,
      keepOn: false,
      backFeedVolts: 0.3,
      residualVolts: 0.3,
      trips: {
        overPowerWatts: 40,
        creepSharePerMin: 0.05,
        creepAfterMs: 60000,
        creepRatio: 1.5,
        staleMs: 150,
        shortOhms: 0.5,
        partialShortOhms: 100,
        doubtfulOhms: 1000,
        touchJoules: 0.1,
      },
      ladder: { attemptMs: 1000, offMs: 10000, raises: 2 },
    },
    board: null,
    bench: {
      version: 1,
      instruments: { psu: { kind: "supply", address: "TCPIP0::192.0.2.10::5025::SOCKET", driver: "auto" } },
      feeds: { aux: { supply: "psu", channel: 1, leadOhms: 0.04, sense: "local", readsAtSense: "unknown" } },
    },
    instruments: [
      {
        name: "psu",
        kind: "supply",
        address: "TCPIP0::192.0.2.10::5025::SOCKET",
        identity: "TERN STREET,BENCH SUPPLY,1001,1.0",
        serialNumber: "1001",
        driver: "channel-list",
        accuracy: { ampsShare: 0.001, ampsOffset: 0.003 },
        roundTrip: { p50Ms: 4, p99Ms: 9, count: 50 },
      },
    ],
    conditions: {
      host: "none",
      fans: "off",
      cooler: "bare",
      polarityChecked: true,
      commonReturn: null,
      sidebandStrapped: null,
      pairsUnplugged: null,
    },
    permit: {
      granted: true,
      refusedBecause: [],
      items: [
        {
          id: "common-return",
          feed: null,
          asks: "All returns are joined",
          state: "not-done",
          evidence: "not said",
          ageMs: null,
          waived: { reason: "single feed" },
        },
      ],
    },
    ...changes,
  };
}

export function sampleVerdict(changes: Partial<DrawVerdict> & { plateauAmps?: number | null } = {}): DrawVerdict {
  const { plateauAmps = 0.82, ...rest } = changes;
  return {
    class: "core-alive",
    candidates: [{ class: "core-alive", probability: 0.9 }],
    because: ["The draw settled at 0.820 A."],
    energyJoules: 12.5,
    features: {
      plateauAmps,
      peakAmps: 2.1,
      sampleIntervalMs: 10,
      chargeCoulombs: 0.03,
      inputFarads: 0.002,
      shortOhms: null,
      limitedMs: 40,
      collapseRatio: null,
      periodMs: null,
      driftAmpsPerMin: -0.01,
      plateaus: [{ amps: 0.82, startMs: 600, lengthMs: 14000 }],
    },
    ...rest,
  };
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
