import { existsSync } from "node:fs";
import { readFile } from "node:fs/promises";
import { ampsOf } from "../../../shared/reading.ts";
import { captureFile } from "../../capture/capture-files.ts";
import { readCapture } from "../../capture/read-capture.ts";
import { attachmentPath } from "../store/attachment-store.ts";
import { eventsOf } from "../store/current-events.ts";
import type { JobStore } from "../store/job-store.ts";
import { reportHtml } from "./report-html.ts";
import { foundAndLeft } from "./report-runs.ts";
import type { TraceLine } from "./trace-picture.ts";

/** Pictures larger than this, or beyond this in all, are listed by name only: a report must fit a mail. */
const LARGEST_PICTURE = 4 * 1024 * 1024;
const ALL_PICTURES = 16 * 1024 * 1024;
const SHOWN = new Set(["image/png", "image/jpeg", "image/gif", "image/webp"]);

/** The report of a job as HTML (`reportHtml`), with the captures of the runs as found and as left and its pictures read in. */
export async function makeReport(store: JobStore, job: string): Promise<string> {
  const record = await store.show(job);
  const { found, left } = foundAndLeft(record.log);
  const traces = new Map<string, readonly TraceLine[]>();
  for (const run of [found, left]) {
    const capture = run?.header.capture;
    if (capture !== undefined && existsSync(captureFile(store.captureDir, capture))) {
      traces.set(capture, await traceLines(store.captureDir, capture));
    }
  }
  const pictures = new Map<string, string>();
  let room = ALL_PICTURES;
  for (const { sha256, mediaType, bytes } of eventsOf(record.log, "attachment")) {
    if (!SHOWN.has(mediaType) || bytes > LARGEST_PICTURE || bytes > room || pictures.has(sha256)) continue;
    const content = await readFile(attachmentPath(store.dir, sha256)).catch(() => null);
    if (content === null) continue;
    room -= bytes;
    pictures.set(sha256, `data:${mediaType};base64,${content.toString("base64")}`);
  }
  return reportHtml({ record, traces, pictures });
}

/** Currents of each feed; where readings are missing the line has a break. */
async function traceLines(folder: string, capture: string): Promise<TraceLine[]> {
  const { readings, gaps } = await readCapture(folder, capture);
  const lines = new Map<string, { label: string; atMs: number[]; amps: number[] }>();
  const breaks = gaps.map((gap) => gap.beforeMs).filter((each) => each !== null);
  for (const reading of readings) {
    const line = lines.get(reading.feed) ?? { label: reading.feed, atMs: [], amps: [] };
    lines.set(reading.feed, line);
    const before = line.atMs.at(-1);
    if (before !== undefined && breaks.some((at) => before < at && at <= reading.atMs)) {
      line.atMs.push(before);
      line.amps.push(Number.NaN);
    }
    line.atMs.push(reading.atMs);
    line.amps.push(ampsOf(reading) ?? Number.NaN);
  }
  return [...lines.values()];
}
