import { existsSync } from "node:fs";
import { open, readFile, rm } from "node:fs/promises";
import { join } from "node:path";
import { lastSeq, scanChunks } from "./scan-chunks.ts";

/** The readings of a capture; all of them once it has ended. */
export const captureFile = (directory: string, captureId: string): string => join(directory, `${captureId}.chunks`);

/** The latest readings of a capture that is being written, until they are packed into its file. */
export const tailFile = (directory: string, captureId: string): string => join(directory, `${captureId}.tail`);

/** The summaries of a long capture, level by level; made again from the readings where it is not there. */
export const levelsFile = (directory: string, captureId: string): string => join(directory, `${captureId}.levels`);

/** A capture's file as it would be with its tail in it. */
interface Settled {
  /** The number of bytes of the file that stay as they are. */
  keep: number;
  /** The bytes of the tail that come after that. */
  tail: Buffer;
}

/**
 * The way to make one file of a capture that a killed process left. What its tail has and its file has whole already is left out; a
 * chunk at the end of the file that was cut short is left out where the tail has its readings. Null where there is no tail.
 */
async function settled(directory: string, captureId: string): Promise<Settled | null> {
  if (!existsSync(tailFile(directory, captureId))) return null;
  const tail = await readFile(tailFile(directory, captureId));
  const file = await readFile(captureFile(directory, captureId));
  let keep = file.length;
  let next = 0;
  let whole = 0;
  for (const found of scanChunks(file, captureId)) {
    if (typeof found === "string") continue;
    next = lastSeq(found.head) + 1;
    whole = found.end;
  }
  let from = 0;
  for (const found of scanChunks(tail, captureId)) {
    if (typeof found === "string") break;
    if (lastSeq(found.head) >= next) {
      if (found.head.seq === next) keep = whole;
      break;
    }
    from = found.end;
  }
  return { keep, tail: tail.subarray(from) };
}

/** Makes one file of a capture that a killed process left. Again, or cut short anywhere and again, comes to the same. */
export async function settleCapture(directory: string, captureId: string): Promise<void> {
  const found = await settled(directory, captureId);
  if (found === null) return;
  const file = await open(captureFile(directory, captureId), "r+");
  try {
    await file.truncate(found.keep);
    await file.write(found.tail, 0, found.tail.length, found.keep);
    await file.sync();
  } finally {
    await file.close();
  }
  await rm(tailFile(directory, captureId), { force: true });
}

/** The bytes that `settleCapture` would make the file of; null where it would change nothing. Looks only. */
export async function settledBytes(directory: string, captureId: string): Promise<Buffer | null> {
  const found = await settled(directory, captureId);
  if (found === null) return null;
  const file = await readFile(captureFile(directory, captureId));
  return Buffer.concat([file.subarray(0, found.keep), found.tail]);
}
