import { execFile } from "node:child_process";
import { rm } from "node:fs/promises";
import { fileURLToPath } from "node:url";
import { promisify } from "node:util";
import { expect, it } from "vitest";
import { captureFile } from "../../src/capture/capture-files.ts";
import { openCaptureWriter } from "../../src/capture/chunk-store.ts";
import { openJobStore } from "../../src/job/store/open-job-store.ts";
import { fileRun } from "../job/sample-job.ts";
import { onceInTime } from "./served-bench.ts";
import { closeAfterEach, hold, openBench, openDaemon, outcomeOf } from "./served-run.ts";

closeAfterEach();

/** Two hours at 50 readings a second: as CSV they take a processor for seconds, and the bench process waits for no beat that long. */
const READINGS = 360_000;

/** A record with a job of a long run and another job. */
async function longRecord(data: string): Promise<{ job: string; run: string; capture: string; other: string }> {
  const store = await openJobStore(data, { ballastBytes: 0 });
  const job = await store.newJob({ title: "a long run" });
  const { run, capture } = await fileRun(store, job);
  const other = await store.newJob({ title: "another" });
  await fileRun(store, other);
  await rm(captureFile(store.captureDir, capture));
  const writer = await openCaptureWriter(store.captureDir, capture);
  for (let i = 0; i < READINGS; i++) {
    const atMs = i * 20 + 4;
    writer.append({
      ...{ feed: "aux", queriedAtMs: i * 20, atMs, mode: "cv", together: true },
      volts: { kind: "value", volts: 12 - (i % 7) / 1000 },
      amps: { kind: "value", amps: 0.8 + (i % 13) / 1000 },
    });
    if (i % 20_000 === 0) await writer.flushed();
  }
  await writer.close();
  await store.close();
  return { job, run, capture, other };
}

const ASK_ALL = fileURLToPath(new URL("./ask-all.mjs", import.meta.url));
const BYTES = "application/octet-stream";

/** A start as an oscilloscope writes it: a file that is looked into when it is attached. */
const trace = (rows: number): string =>
  ["time_s,core,slot12", ...Array.from({ length: rows }, (_, i) => `${i / 1e6},${i / 1e5},${12 - i / 1e6}`)].join("\n");

it("goes on with a held board while another window asks for all of a long run", { timeout: 240_000 }, async () => {
  const bench = await openBench();
  const { job, run, capture, other } = await longRecord(`${bench.folder.path}/data`);
  const open = await openDaemon(bench);
  const { served, by } = open;
  // In a process of its own: the simulated supply answers from this one.
  const list = await bench.folder.write("asks.json", [
    { path: `/api/jobs/${job}/runs/${run}/csv` },
    { path: `/api/jobs/${job}/runs/${run}` },
    { path: `/api/jobs/${job}/captures/${capture}/points?most=4000` },
    { path: `/api/jobs/${job}/report`, method: "POST", type: "application/json", body: "{}" },
    { path: `/api/jobs/${other}/attachments?name=start.csv`, method: "POST", type: BYTES, body: trace(100_000) },
    { path: `/api/jobs/${job}/sheet` },
    { path: `/api/jobs/${job}/diagnosis` },
    { path: `/api/jobs/${job}/archive` },
    { path: `/api/compare?a=${job}&b=${other}` },
  ]);
  const asking = [ASK_ALL, new URL(served.url).origin, served.token, list];

  const { outcome } = await onceInTime(async () => {
    const held = await hold(open);
    const { stdout } = await promisify(execFile)(process.execPath, asking);
    const answers = JSON.parse(stdout) as { path: string; status: number; lines: number }[];
    expect(answers.filter(({ status }) => status !== 200)).toEqual([]);
    expect(answers[0]?.lines).toBeGreaterThan(READINGS);
    if (!by.client.has("outcome")) expect((await by.cut()).result).toBe("done");
    const outcome = await outcomeOf(by, held);
    return { outcome, trip: outcome.trip };
  });
  expect(outcome).toMatchObject({ trip: null, output: "off" });
});
