import { mkdir, open } from "node:fs/promises";
import { join } from "node:path";
import { BenchError } from "../../shared/bench-error.ts";
import { messageOf } from "../../shared/message-of.ts";
import type { FeedReading } from "../../shared/reading.ts";
import { chunkBytes, type StoredReading } from "./chunk-format.ts";

/** Readings wait no longer than this before they are in the file. */
const FLUSH_MS = 250;
/** About 90 bytes a reading: a chunk stays under 64 KiB. */
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

export const captureFile = (directory: string, captureId: string): string => join(directory, `${captureId}.chunks`);

/**
 * Opens a new capture under `directory` and writes it as checked chunks while it runs: a killed process loses at most
 * what the last quarter of a second brought. Throws where the file exists or cannot be made.
 */
export async function openCaptureWriter(
  directory: string,
  captureId: string,
  options: CaptureWriterOptions = {},
): Promise<CaptureWriter> {
  const file = captureFile(directory, captureId);
  const handle = await mkdir(directory, { recursive: true, mode: 0o700 })
    .then(() => open(file, "ax", 0o600))
    .catch((cause: unknown) => {
      throw problemOf(file, cause);
    });
  const after = options.after ?? timer;
  let waiting: StoredReading[] = [];
  let seq = 0;
  let callOff: (() => void) | null = null;
  let failed: BenchError | null = null;
  let writing: Promise<void> = Promise.resolve();

  const fail = (cause: unknown): void => {
    if (failed !== null) return;
    failed = problemOf(file, cause);
    options.onProblem?.(failed);
  };
  const write = (closed: boolean): void => {
    callOff?.();
    callOff = null;
    const readings = waiting;
    waiting = [];
    if (failed !== null || (readings.length === 0 && !closed)) return;
    const bytes = chunkBytes(captureId, seq++, readings, closed);
    // One write after the other: a chunk is never inside another.
    writing = writing.then(async () => {
      if (failed !== null) return;
      try {
        await handle.writeFile(bytes);
      } catch (cause) {
        fail(cause);
      }
    });
  };
  return {
    append(reading, eventAtMs = reading.atMs) {
      waiting.push({ reading, eventAtMs });
      if (waiting.length >= MOST_READINGS) write(false);
      else callOff ??= after(FLUSH_MS, () => write(false));
    },
    async flushed() {
      write(false);
      await writing;
    },
    async close() {
      write(false);
      write(true);
      await writing;
      try {
        await handle.sync();
      } catch (cause) {
        fail(cause);
      } finally {
        await handle.close();
      }
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
