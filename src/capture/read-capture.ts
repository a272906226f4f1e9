import { readFile } from "node:fs/promises";
import { BenchError } from "../../shared/bench-error.ts";
import type { FeedReading } from "../../shared/reading.ts";
import { messageOf } from "../../shared/words/message-of.ts";
import { captureFile, tailFile } from "./capture-files.ts";
import { type ChunkHead, readingsOf, type StoredReading } from "./chunk-format.ts";
import { readingsOfColumns, unpackColumns } from "./packed-readings.ts";
import { lastSeq, scanChunks } from "./scan-chunks.ts";

/** A place where readings are missing: after `afterMs` (null: from the beginning) and before `beforeMs` (null: to the end). */
export interface CaptureGap {
  afterMs: number | null;
  beforeMs: number | null;
  because: string;
}

/** The facts of a capture's readings as a whole. */
export interface CaptureNotes {
  /** `open`: it ends without its closing mark, whole so far; `recovered`: something in it is damaged or missing. */
  closed: "closed" | "open" | "recovered";
  gaps: CaptureGap[];
}

export interface StoredCapture extends CaptureNotes {
  readings: FeedReading[];
  /** When the run took each reading in, beside `readings`. */
  eventAtMs: number[];
}

/** The readings of a chunk whose sum was right. Throws BenchError "bad-input" where the payload is not what its head says. */
export function chunkReadings(head: ChunkHead, payload: Buffer): StoredReading[] {
  try {
    return head.packed === true ? readingsOfColumns(unpackColumns(payload, head.n)) : readingsOf(payload);
  } catch (cause) {
    throw new BenchError(
      "bad-input",
      `Chunk ${head.seq} of capture ${head.capture} holds something that is not a reading`,
      {
        cause,
      },
    );
  }
}

/** The bytes of a capture's file, and of its tail, which is empty where it has none. */
export interface CaptureBytes {
  file: Buffer;
  tail: Buffer;
}

/** Reads the bytes of a capture. Throws `bad-input` where there is no such capture. */
export async function captureBytes(directory: string, captureId: string): Promise<CaptureBytes> {
  // The tail first: what is packed meanwhile is then in both, and not in neither.
  const tail = await readFile(tailFile(directory, captureId)).catch(() => Buffer.alloc(0));
  const path = captureFile(directory, captureId);
  const file = await readFile(path).catch((cause: unknown) => {
    throw new BenchError("bad-input", `Cannot read capture ${path}: ${messageOf(cause)}`, { cause });
  });
  return { file, tail };
}

/**
 * Reads a capture back, also one that is still being written or was torn. Throws `bad-input` where there is no such capture.
 */
export async function readCapture(directory: string, captureId: string): Promise<StoredCapture> {
  const stored: StoredCapture = { readings: [], eventAtMs: [], closed: "open", gaps: [] };
  for (const { reading, eventAtMs } of storedReadings(await captureBytes(directory, captureId), captureId, stored)) {
    stored.readings.push(reading);
    stored.eventAtMs.push(eventAtMs);
  }
  return stored;
}

/**
 * The readings of a capture one by one, so that a day of them needs no room. A chunk with a wrong sum, a half chunk at the end, a
 * missing number: each is a gap, put into `notes` and never joined; the notes are whole once all was read.
 */
export function* storedReadings(
  { file, tail }: CaptureBytes,
  captureId: string,
  notes: CaptureNotes = { closed: "open", gaps: [] },
): Generator<StoredReading> {
  let expected = 0;
  let torn: string | null = null;
  let lastMs: number | null = null;
  for (const bytes of [file, tail]) {
    for (const found of scanChunks(bytes, captureId)) {
      if (typeof found === "string") {
        torn ??= found;
        continue;
      }
      const { head, payload } = found;
      if (bytes === tail) {
        if (lastSeq(head) < expected) continue;
        // A chunk that was being packed when the process died is still here, piece by piece.
        if (head.seq === expected) torn = null;
      }
      if (torn !== null || head.seq !== expected) {
        const why = torn ?? `chunk ${head.seq} comes where chunk ${expected} should be`;
        notes.gaps.push({ afterMs: lastMs, beforeMs: head.t0, because: why });
        torn = null;
      }
      for (const each of chunkReadings(head, payload)) {
        lastMs = each.reading.atMs;
        yield each;
      }
      expected = lastSeq(head) + 1;
      if (head.closed) notes.closed = "closed";
    }
  }
  if (torn !== null) notes.gaps.push({ afterMs: lastMs, beforeMs: null, because: torn });
  if (notes.gaps.length > 0) notes.closed = "recovered";
}
