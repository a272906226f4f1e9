import { type FileHandle, open } from "node:fs/promises";
import { ampsOf, voltsOf } from "../../shared/reading.ts";
import { captureFile } from "./capture-files.ts";
import { captureIndex } from "./capture-index.ts";
import type { LevelBlock } from "./capture-levels.ts";
import type { Summary } from "./capture-summary.ts";
import type { ChunkHead } from "./chunk-format.ts";
import { type CaptureWindow, gatherPoints, type PointGatherer } from "./gather-points.ts";
import { unpackFigures } from "./packed-readings.ts";
import { chunkReadings } from "./read-capture.ts";
import { scanChunks } from "./scan-chunks.ts";

/** A capture's points in a window; `beginsMs` and `endsMs` are those of the whole capture, null where it has no reading. */
export interface CapturePoints {
  beginsMs: number | null;
  endsMs: number | null;
  feeds: Map<string, Summary[]>;
}

export interface WantedPoints {
  /** Ends of the window, milliseconds of the run; left out, the ends of the capture. */
  fromMs?: number;
  toMs?: number;
  /** Points a feed at most. */
  most: number;
  /** Writes down what had to be read anew to find them, for the next time. Default false. */
  keep?: boolean;
}

/**
 * The readings of a capture between two times, at most `most` points a feed, each with the least, the greatest and the mean of
 * what it stands for, from the coarsest level that is fine enough. Throws BenchError "bad-input" where there is no such capture.
 */
export async function capturePoints(
  directory: string,
  captureId: string,
  wanted: WantedPoints,
): Promise<CapturePoints> {
  const { blocks, rest } = await captureIndex(directory, captureId, wanted.keep ?? false);
  const beginsMs = blocks[0]?.fromMs ?? rest[0]?.reading.atMs ?? null;
  const endsMs = rest.at(-1)?.reading.atMs ?? blocks.at(-1)?.toMs ?? null;
  const window: CaptureWindow = {
    fromMs: wanted.fromMs ?? beginsMs ?? 0,
    toMs: wanted.toMs ?? endsMs ?? 0,
    most: wanted.most,
  };
  const gathered = gatherPoints(window);
  const seen = blocks.filter((block) => block.toMs >= window.fromMs && block.fromMs <= window.toMs);
  const file = seen.length === 0 ? null : await open(captureFile(directory, captureId), "r");
  try {
    for (const block of seen)
      if (!takeLevel(gathered, block, window)) await takeReadings(gathered, block, captureId, file);
  } finally {
    await file?.close();
  }
  for (const { reading } of rest)
    gathered.takeReading(reading.feed, reading.atMs, voltsOf(reading) ?? Number.NaN, ampsOf(reading) ?? Number.NaN);
  return { beginsMs, endsMs, feeds: gathered.feeds() };
}

/**
 * A level is fine enough where it gives a quarter of the points that were asked for: the next finer one is many times as much to read.
 */
const FINE_ENOUGH = 4;

/** Takes a block by one of its levels; false where none is fine enough, or only a part of it lies in the window. */
function takeLevel(gathered: PointGatherer, block: LevelBlock, { fromMs, toMs, most }: CaptureWindow): boolean {
  if (block.fromMs < fromMs || block.toMs > toMs) return false;
  const partMs = (toMs - fromMs) / most;
  if (block.bucketMs > FINE_ENOUGH * partMs) return false;
  const feeds = block.feeds();
  if (feeds === null) return false;
  const isWhole = block.toMs - block.fromMs <= partMs;
  for (const { feed, total, buckets } of feeds) {
    if (isWhole) gathered.take(feed, total);
    else for (const bucket of buckets()) gathered.take(feed, bucket);
  }
  return true;
}

async function takeReadings(
  gathered: PointGatherer,
  { from, end }: LevelBlock,
  captureId: string,
  file: FileHandle | null,
): Promise<void> {
  const bytes = Buffer.alloc(end - from);
  await file?.read(bytes, 0, bytes.length, from);
  for (const found of scanChunks(bytes, captureId)) {
    if (typeof found !== "string") takeChunk(gathered, found.head, found.payload);
  }
}

function takeChunk(gathered: PointGatherer, head: ChunkHead, payload: Buffer): void {
  if (head.packed !== true) {
    for (const { reading } of chunkReadings(head, payload))
      gathered.takeReading(reading.feed, reading.atMs, voltsOf(reading) ?? Number.NaN, ampsOf(reading) ?? Number.NaN);
    return;
  }
  const { feeds, feedAt, atMs, volts, amps } = unpackFigures(payload, head.n);
  for (let i = 0; i < feedAt.length; i++)
    gathered.takeReading(feeds[feedAt[i] ?? 0] ?? "", atMs[i] ?? 0, volts[i] ?? Number.NaN, amps[i] ?? Number.NaN);
}
