import { type FileHandle, mkdir, open, rm } from "node:fs/promises";
import { BenchError } from "../../shared/bench-error.ts";
import type { FeedReading } from "../../shared/reading.ts";
import { messageOf } from "../../shared/words/message-of.ts";
import { captureFile, levelsFile, tailFile } from "./capture-files.ts";
import { BLOCK_READINGS, blockBytes } from "./capture-levels.ts";
import { chunkBytes, packedChunkBytes, type StoredReading } from "./chunk-format.ts";
import { packReadings } from "./packed-readings.ts";

/** Readings wait no longer than this before they are in the file. */
const FLUSH_MS = 250;
/** About 90 bytes a reading: a chunk of the tail stays under 64 KiB. */
const MOST_READINGS = 500;

export interface CaptureWriter {
  /**
   * Takes a reading, and when the run took it (default: the reading's own time); never waits and never throws, so that
   * nothing energised waits for a disk.
   */
  append(reading: FeedReading, eventAtMs?: number): void;
  /** Resolves when all that was appended is in the file. */
  flushed(): Promise<void>;
  /** Writes what is left, marks the capture closed and syncs it. Throws `disk-full` or `data-not-writable` for the first write that failed. */
  close(): Promise<void>;
}

export interface CaptureWriterOptions {
  /** Runs `run` once, `ms` from now; answers the way to call it off. Default: a timer that does not keep the process alive. */
  after?: (ms: number, run: () => void) => () => void;
  /** Called once, with the first write that failed; later readings are dropped. */
  onProblem?: (problem: BenchError) => void;
}

/**
 * Opens a new capture under `directory` and writes it while it runs: the latest readings as checked chunks of a tail, so that a
 * killed process loses at most what the last quarter of a second brought; then, some thousands at a time, packed into the capture's
 * file, with their levels beside it. Throws where the file exists or cannot be made.
 */
export async function openCaptureWriter(
  directory: string,
  captureId: string,
  options: CaptureWriterOptions = {},
): Promise<CaptureWriter> {
  const path = captureFile(directory, captureId);
  const file = await mkdir(directory, { recursive: true, mode: 0o700 })
    .then(() => open(path, "ax", 0o600))
    .catch((cause: unknown) => {
      throw problemOf(path, cause);
    });
  const after = options.after ?? timer;
  let tail: FileHandle | null = null;
  let levels: FileHandle | null = null;
  let fileBytes = 0;
  let waiting: StoredReading[] = [];
  let unpacked: StoredReading[] = [];
  let packedUpTo = 0;
  let seq = 0;
  let callOff: (() => void) | null = null;
  let failed: BenchError | null = null;
  let writing: Promise<void> = Promise.resolve();

  const fail = (cause: unknown): void => {
    if (failed !== null) return;
    failed = problemOf(path, cause);
    options.onProblem?.(failed);
  };
  // One write after the other: a chunk is never inside another.
  const inTurn = (work: () => Promise<void>): void => {
    writing = writing.then(async () => {
      if (failed !== null) return;
      try {
        await work();
      } catch (cause) {
        fail(cause);
      }
    });
  };
  const write = (): void => {
    callOff?.();
    callOff = null;
    const readings = waiting;
    waiting = [];
    if (failed !== null || readings.length === 0) return;
    unpacked.push(...readings);
    const bytes = chunkBytes(captureId, seq++, readings, false);
    inTurn(async () => {
      tail ??= await open(tailFile(directory, captureId), "a", 0o600);
      await tail.writeFile(bytes);
    });
  };
  /** Makes one chunk of the file of what stands in the tail. */
  const pack = (isLast: boolean): void => {
    const readings = unpacked;
    unpacked = [];
    const of = { capture: captureId, seq: packedUpTo, through: seq - 1 };
    packedUpTo = seq;
    if (failed !== null || readings.length === 0) return;
    inTurn(async () => {
      const packed = packReadings(readings);
      const bytes =
        packed === null
          ? chunkBytes(captureId, of.seq, readings, false, of.through)
          : packedChunkBytes(of, readings, packed);
      await file.writeFile(bytes);
      const place = { from: fileBytes, end: fileBytes + bytes.length };
      fileBytes = place.end;
      // A single block is read as quickly without levels.
      if (isLast && levels === null) return;
      await file.datasync();
      await tail?.truncate(0);
      levels ??= await open(levelsFile(directory, captureId), "a", 0o600);
      await levels.writeFile(blockBytes(captureId, place, of, readings));
    });
  };
  return {
    append(reading, eventAtMs = reading.atMs) {
      waiting.push({ reading, eventAtMs });
      if (waiting.length >= MOST_READINGS) write();
      else callOff ??= after(FLUSH_MS, write);
      if (unpacked.length >= BLOCK_READINGS) pack(false);
    },
    async flushed() {
      write();
      await writing;
    },
    async close() {
      write();
      pack(true);
      inTurn(async () => {
        await file.writeFile(chunkBytes(captureId, seq++, [], true));
        await file.sync();
        await rm(tailFile(directory, captureId), { force: true });
      });
      await writing;
      for (const each of [file, tail, levels]) await each?.close();
      if (failed !== null) throw failed;
    },
  };
}

function timer(ms: number, run: () => void): () => void {
  const handle = setTimeout(run, ms);
  handle.unref();
  return () => clearTimeout(handle);
}

function problemOf(file: string, cause: unknown): BenchError {
  const full = cause instanceof Error && "code" in cause && (cause.code === "ENOSPC" || cause.code === "EDQUOT");
  const what = messageOf(cause);
  return new BenchError(full ? "disk-full" : "data-not-writable", `Cannot write capture ${file}: ${what}`, { cause });
}
