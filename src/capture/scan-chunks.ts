import { CHUNK_MARK, type ChunkHead, chunkSum } from "./chunk-format.ts";

/** A chunk whose sum is right, and where it lies. */
export interface FoundChunk {
  head: ChunkHead;
  payload: Buffer;
  from: number;
  end: number;
}

/** The last number a chunk stands for. */
export const lastSeq = ({ seq, through }: ChunkHead): number => through ?? seq;

/** The content of a capture's file, in order: chunks, and sentences about what is none of this capture's. */
export function* scanChunks(bytes: Buffer, captureId: string): Generator<FoundChunk | string> {
  for (let offset = 0; offset < bytes.length; ) {
    const chunk = chunkAt(bytes, offset, captureId);
    yield chunk;
    if (typeof chunk !== "string") offset = chunk.end;
    else {
      const next = bytes.indexOf(`\n${CHUNK_MARK}`, offset);
      offset = next < 0 ? bytes.length : next + 1;
    }
  }
}

function chunkAt(bytes: Buffer, offset: number, captureId: string): FoundChunk | string {
  const lineEnd = bytes.indexOf(10, offset);
  if (lineEnd < 0) return "the record ends inside the head of a chunk";
  const head = headOf(bytes.toString("utf8", offset, lineEnd));
  if (head === null) return "the head of a chunk cannot be read";
  const end = lineEnd + 1 + head.bytes;
  if (end > bytes.length) return `the record ends inside chunk ${head.seq}`;
  const payload = bytes.subarray(lineEnd + 1, end);
  if (head.capture !== captureId) return `chunk ${head.seq} belongs to capture ${head.capture}`;
  return chunkSum(captureId, head.seq, payload) === head.crc32
    ? { head, payload, from: offset, end }
    : `the checksum of chunk ${head.seq} is wrong`;
}

function headOf(line: string): ChunkHead | null {
  if (!line.startsWith(CHUNK_MARK)) return null;
  try {
    const head = JSON.parse(line.slice(CHUNK_MARK.length)) as ChunkHead;
    const isWhole = [head.seq, head.n, head.bytes, head.crc32, lastSeq(head)].every(
      (value) => Number.isInteger(value) && value >= 0,
    );
    const isRight = isWhole && lastSeq(head) >= head.seq && typeof head.capture === "string";
    return isRight && (head.t0 === null || typeof head.t0 === "number") ? head : null;
  } catch {
    return null;
  }
}
