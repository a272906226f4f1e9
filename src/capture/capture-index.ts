import { existsSync } from "node:fs";
import { open, readFile, rename, writeFile } from "node:fs/promises";
import { BenchError } from "../../shared/bench-error.ts";
import { messageOf } from "../../shared/words/message-of.ts";
import { captureFile, levelsFile, tailFile } from "./capture-files.ts";
import { BLOCK_READINGS, blockBytes, type LevelBlock, levelBlocks } from "./capture-levels.ts";
import type { StoredReading } from "./chunk-format.ts";
import { chunkReadings } from "./read-capture.ts";
import { type FoundChunk, lastSeq, scanChunks } from "./scan-chunks.ts";

/** The places of a capture's readings in its file, without most of them. */
export interface CaptureIndex {
  /** Blocks of some thousand readings, in order of time. */
  blocks: LevelBlock[];
  /** The readings after the last block. */
  rest: StoredReading[];
}

/**
 * The places of a capture's readings, by its levels file. Readings that are not in it are read and put into blocks: the last seconds of
 * a run that goes on, or all of a capture that came from another bench. With `keep` that is written down for the next time, once the
 * capture has ended. Throws BenchError "bad-input" where there is no such capture.
 */
export async function captureIndex(directory: string, captureId: string, keep: boolean): Promise<CaptureIndex> {
  // The tail first: what is packed meanwhile is then in both, and not in neither.
  const tail = await bytesOf(tailFile(directory, captureId));
  const known = await bytesOf(levelsFile(directory, captureId));
  const path = captureFile(directory, captureId);
  const file = await open(path, "r").catch((cause: unknown) => {
    throw new BenchError("bad-input", `Cannot read capture ${path}: ${messageOf(cause)}`, { cause });
  });
  try {
    const { size } = await file.stat();
    let blocks = levelBlocks(known, captureId);
    // A capture's file only grows; one that is shorter than its levels say is another one.
    if ((blocks.at(-1)?.end ?? 0) > size) blocks = [];
    const from = blocks.at(-1)?.end ?? 0;
    const bytes = Buffer.alloc(size - from);
    await file.read(bytes, 0, bytes.length, from);
    const made = inBlocks(bytes, tail, { captureId, from, next: (blocks.at(-1)?.through ?? -1) + 1 });
    if (made.bytes.length === 0) return { blocks, rest: made.rest };
    const kept = known.subarray(
      0,
      blocks.reduce((sum, each) => sum + each.bytes, 0),
    );
    const all = Buffer.concat([kept, ...made.bytes]);
    if (keep && made.isClosed) await writeWhole(levelsFile(directory, captureId), all);
    return { blocks: levelBlocks(all, captureId), rest: made.rest };
  } finally {
    await file.close();
  }
}

/** Puts chunks into blocks; what fills none is the rest. */
function inBlocks(
  bytes: Buffer,
  tail: Buffer,
  of: { captureId: string; from: number; next: number },
): { bytes: Buffer[]; rest: StoredReading[]; isClosed: boolean } {
  const made: Buffer[] = [];
  let rest: StoredReading[] = [];
  let chunks: FoundChunk[] = [];
  let begins = of.from;
  let next = of.next;
  let isClosed = false;
  for (const found of scanChunks(bytes, of.captureId)) {
    if (typeof found === "string") continue;
    const { head } = found;
    next = lastSeq(head) + 1;
    isClosed ||= head.closed;
    chunks.push(found);
    rest.push(...chunkReadings(head, found.payload));
    if (rest.length < BLOCK_READINGS) continue;
    const place = { from: begins, end: of.from + found.end };
    made.push(blockBytes(of.captureId, place, { seq: chunks[0]?.head.seq ?? 0, through: next - 1 }, rest));
    begins = place.end;
    rest = [];
    chunks = [];
  }
  for (const found of scanChunks(tail, of.captureId)) {
    if (typeof found !== "string" && found.head.seq >= next) rest.push(...chunkReadings(found.head, found.payload));
  }
  return { bytes: made, rest, isClosed };
}

const bytesOf = async (path: string): Promise<Buffer> => (existsSync(path) ? await readFile(path) : Buffer.alloc(0));

/** Whole or not there; nobody waits for the disk, since it can be made again. */
async function writeWhole(path: string, bytes: Buffer): Promise<void> {
  const making = `${path}.making-${process.pid}`;
  // A disk that is full or may only be read keeps nobody from looking.
  await writeFile(making, bytes, { mode: 0o600 })
    .then(() => rename(making, path))
    .catch(() => undefined);
}
