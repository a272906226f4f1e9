import { rm } from "node:fs/promises";
import { expect, it } from "vitest";
import { captureFile } from "../../src/capture/capture-files.ts";
import { openCaptureWriter } from "../../src/capture/chunk-store.ts";
import { openJobStore } from "../../src/job/store/open-job-store.ts";
import { fileRun } from "../job/sample-job.ts";
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

/** A start as an oscilloscope writes it: a file that is looked into when it is attached. */
const trace = (rows: number): string =>
  ["time_s,core,slot12", ...Array.from({ length: rows }, (_, i) => `${i / 1e6},${i / 1e5},${12 - i / 1e6}`)].join("\n");

it("goes on with a held board while another window asks for all of a long run", { timeout: 240_000 }, async () => {
  const bench = await openBench();
  const { job, run, capture, other } = await longRecord(`${bench.folder.path}/data`);
  const open = await openDaemon(bench);
  const { served, by } = open;
  const held = await hold(open);
  const get = async (path: string): Promise<string> => {
    const { status, text } = await served.ask(path);
    expect(status, `${path}: ${text.slice(0, 200)}`).toBe(200);
    return text;
  };
  const post = (path: string, body: string, type: string) =>
    fetch(`${new URL(served.url).origin}${path}`, {
      method: "POST",
      headers: { authorization: `Bearer ${served.token}`, "content-type": type },
      body,
    });

  const [csv, picture, points, report, kept, ...rest] = await Promise.all([
    get(`/api/jobs/${job}/runs/${run}/csv`),
    get(`/api/jobs/${job}/runs/${run}`),
    get(`/api/jobs/${job}/captures/${capture}/points?most=4000`),
    post(`/api/jobs/${job}/report`, "{}", "application/json"),
    post(`/api/jobs/${other}/attachments?name=start.csv`, trace(100_000), "application/octet-stream"),
    get(`/api/jobs/${job}/sheet`),
    get(`/api/jobs/${job}/diagnosis`),
    get(`/api/jobs/${job}/archive`),
    get(`/api/compare?a=${job}&b=${other}`),
  ]);
  expect(csv.trim().split("\n").length).toBeGreaterThan(READINGS);
  expect(JSON.parse(picture)).toHaveProperty("trace");
  expect(JSON.parse(points)).toHaveProperty("feeds");
  expect([report.status, kept.status]).toEqual([200, 200]);
  expect(rest).toHaveLength(4);

  expect(by.client.has("outcome")).toBe(false);
  expect((await by.cut()).result).toBe("done");
  expect(await outcomeOf(by, held)).toMatchObject({ trip: null, output: "off" });
});
