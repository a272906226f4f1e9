import { randomFillSync } from "node:crypto";
import { closeSync, existsSync, fsyncSync, openSync, renameSync, rmSync, statfsSync, writeSync } from "node:fs";
import { join } from "node:path";

const MIB = 1024 * 1024;
const LEAST_FREE_BYTES = 200 * MIB;
export const BALLAST_BYTES = 16 * MIB;
const ballastPath = (dir: string) => join(dir, "ballast");

/** Bytes free to this user on the disk that holds `dir`. */
export function freeBytes(dir: string): number {
  const disk = statfsSync(dir);
  return disk.bavail * disk.bsize;
}

/**
 * Why no energised run should start on this disk, as a sentence, or null: under 200 MiB are free. A run is not stopped
 * by a full disk, but its record would be.
 */
export function freeSpaceProblem(dir: string, free: (dir: string) => number = freeBytes): string | null {
  const bytes = free(dir);
  if (bytes >= LEAST_FREE_BYTES) return null;
  return `Only ${Math.floor(bytes / MIB)} MiB are free on the disk of the record (${dir}); a run needs at least ${LEAST_FREE_BYTES / MIB} MiB`;
}

/**
 * Keeps `bytes` of the disk taken, so that there is something to give up when it is full: on a truly full disk even a
 * delete inside the database fails, because its log cannot grow. Does nothing where it is there, or the disk is nearly full.
 */
export function keepBallast(dir: string, bytes: number = BALLAST_BYTES): void {
  if (bytes === 0 || existsSync(ballastPath(dir)) || freeBytes(dir) < LEAST_FREE_BYTES + bytes) return;
  const making = `${ballastPath(dir)}.making`;
  const file = openSync(making, "w", 0o600);
  try {
    // Random, so that a file system that compresses or leaves holes really gives the room away.
    const block = randomFillSync(Buffer.allocUnsafe(Math.min(MIB, bytes)));
    for (let left = bytes; left > 0; left -= block.length) writeSync(file, block, 0, Math.min(left, block.length));
    fsyncSync(file);
  } finally {
    closeSync(file);
  }
  renameSync(making, ballastPath(dir));
}

/** Gives the kept room back; true where there was some. */
export function dropBallast(dir: string): boolean {
  if (!existsSync(ballastPath(dir))) return false;
  rmSync(ballastPath(dir), { force: true });
  return true;
}
