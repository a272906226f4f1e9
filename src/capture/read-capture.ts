import { readFile } from "node:fs/promises";
import { BenchError } from "../../shared/bench-error.ts";
import { messageOf } from "../../shared/message-of.ts";
import type { FeedReading } from "../../shared/reading.ts";
import { CHUNK_MARK, type ChunkHead, chunkSum, readingsOf } from "./chunk-format.ts";
import { captureFile } from "./chunk-store.ts";

/** A place where readings are missing: after `afterMs` (null: from the beginning) and before `beforeMs` (null: to the end). */
export interface CaptureGap {
  afterMs: number | null;
  beforeMs: number | null;
  because: string;
}

export interface StoredCapture {
  readings: FeedReading[];
  /** When the run took each reading in, beside `readings`. */
  eventAtMs: number[];
  /** `open`: it ends without its closing mark, whole so far; `recovered`: something in it is damaged or missing. */
  closed: "closed" | "open" | "recovered";
  gaps: CaptureGap[];
}

/**
 * Reads a capture back, also one that is still being written or was torn. A chunk with a wrong sum, a half chunk at the
 * end, a missing number: each is a gap, said and never joined. Throws `bad-input` where there is no such capture.
 */
export async function readCapture(directory: string, captureId: string): Promise<StoredCapture> {
  const file = captureFile(directory, captureId);
  const bytes = await readFile(file).catch((cause: unknown) => {
    throw new BenchError("bad-input", `Cannot read capture ${file}: ${messageOf(cause)}`, { cause });
  });
  const stored: StoredCapture = { readings: [], eventAtMs: [], closed: "open", gaps: [] };
  let expected = 0;
  let torn: string | null = null;
  for (let offset = 0; offset < bytes.length; ) {
    const chunk = chunkAt(bytes, offset, captureId);
    if (typeof chunk === "string") {
      torn ??= chunk;
      const next = bytes.indexOf(`\n${CHUNK_MARK}`, offset);
      offset = next < 0 ? bytes.length : next + 1;
      continue;
    }
    offset = chunk.end;
    if (torn !== null || chunk.head.seq !== expected) {
      const why = torn ?? `chunk ${chunk.head.seq} comes where chunk ${expected} should be`;
      stored.gaps.push({ afterMs: lastMs(stored), beforeMs: chunk.head.t0, because: why });
      torn = null;
    }
    for (const { reading, eventAtMs } of readingsOf(chunk.payload)) {
      stored.readings.push(reading);
      stored.eventAtMs.push(eventAtMs);
    }
    expected = chunk.head.seq + 1;
    if (chunk.head.closed) stored.closed = "closed";
  }
  if (torn !== null) stored.gaps.push({ afterMs: lastMs(stored), beforeMs: null, because: torn });
  if (stored.gaps.length > 0) stored.closed = "recovered";
  return stored;
}

const lastMs = ({ readings }: StoredCapture): number | null => readings[readings.length - 1]?.atMs ?? null;

function chunkAt(
  bytes: Buffer,
  offset: number,
  captureId: string,
): { head: ChunkHead; payload: Buffer; end: number } | string {
  const lineEnd = bytes.indexOf(10, offset);
  if (lineEnd < 0) return "the record ends inside the head of a chunk";
  const head = headOf(bytes.toString("utf8", offset, lineEnd));
  if (head === null) return "the head of a chunk cannot be read";
  const end = lineEnd + 1 + head.bytes;
  if (end > bytes.length) return `the record ends inside chunk ${head.seq}`;
  const payload = bytes.subarray(lineEnd + 1, end);
  if (head.capture !== captureId) return `chunk ${head.seq} belongs to capture ${head.capture}`;
  return chunkSum(captureId, head.seq, payload) === head.crc32
    ? { head, payload, end }
    : `the checksum of chunk ${head.seq} is wrong`;
}

function headOf(line: string): ChunkHead | null {
  if (!line.startsWith(CHUNK_MARK)) return null;
  try {
    const head = JSON.parse(line.slice(CHUNK_MARK.length)) as ChunkHead;
    const whole = [head.seq, head.n, head.bytes, head.crc32].every((value) => Number.isInteger(value) && value >= 0);
    return whole && typeof head.capture === "string" && (head.t0 === null || typeof head.t0 === "number") ? head : null;
  } catch {
    return null;
  }
}
