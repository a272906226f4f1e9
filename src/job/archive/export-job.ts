import { randomUUID } from "node:crypto";
import { createReadStream, existsSync } from "node:fs";
import { open, rename, rm, stat } from "node:fs/promises";
import { dirname } from "node:path";
import { BenchError, quoted } from "../../../shared/bench-error.ts";
import { syncFolder } from "../store/attachment-store.ts";
import type { JobStore } from "../store/job-store.ts";
import { storageProblem } from "../store/storage-problem.ts";
import { type ArchivePart, collectJob, piecesOf } from "./collect-job.ts";
import { fitsZip, localHeader, zipCrc, zipTail } from "./stored-zip.ts";

/**
 * Writes the whole job to one file that another record can import: the same job gives the same bytes, whenever and
 * wherever it is exported. Nothing is filed in the job. The answer tells whether the file is new or was there with the very
 * same bytes. Throws BenchError "bad-input" where another file is there, the job is over 4 GiB or a run of it is on,
 * "disk-full", or "data-not-writable"; nothing is left behind then.
 */
export const exportJob = async (store: JobStore, job: string, out: string): Promise<"written" | "same"> =>
  writeArchive(await jobArchive(store, job), out);

/** Writes the pieces of an archive to `out`, all of it or nothing; throws as `exportJob` does. */
export async function writeArchive(pieces: AsyncIterable<Uint8Array>, out: string): Promise<"written" | "same"> {
  const making = `${out}.making-${randomUUID()}`;
  try {
    const target = await open(making, "wx");
    try {
      for await (const piece of pieces) await target.write(piece);
      await target.sync();
    } finally {
      await target.close();
    }
    if (existsSync(out)) {
      if (await sameBytes(making, out)) return "same";
      throw new BenchError(
        "bad-input",
        `Cannot export to ${quoted(out)}: another file exists there; nothing was written, give another name`,
      );
    }
    await rename(making, out);
    await syncFolder(dirname(out));
    return "written";
  } catch (error) {
    throw storageProblem(error, `Cannot export to ${quoted(out)}`);
  } finally {
    await rm(making, { force: true });
  }
}

/**
 * The bytes of that one file, piece by piece. Throws BenchError "bad-input" where the job is over 4 GiB or a run of it is on; the pieces end
 * with one where something of it changes meanwhile.
 */
export async function jobArchive(store: JobStore, job: string): Promise<AsyncIterable<Uint8Array>> {
  return archivePieces(await collectJob(store, job), "the job");
}

/** The bytes of an archive with these parts, in order; throws and ends as `jobArchive` does. */
export function archivePieces(parts: readonly ArchivePart[], what: string): AsyncIterable<Uint8Array> {
  if (!fitsZip(parts))
    throw new BenchError("bad-input", `Cannot export ${what}: it is larger than the 4 GiB one archive can hold`);
  return (async function* () {
    for (const part of parts) {
      yield localHeader(part);
      let crc = 0;
      for await (const piece of piecesOf(part.from)) {
        crc = zipCrc(piece, crc);
        yield piece;
      }
      if (crc !== part.crc)
        throw new BenchError("bad-input", `Cannot export the job: ${part.name} changed during the export; try again`);
    }
    yield zipTail(parts);
  })();
}

async function sameBytes(one: string, other: string): Promise<boolean> {
  const [a, b] = await Promise.all([stat(one), stat(other)]);
  if (!b.isFile() || a.size !== b.size) return false;
  const others = createReadStream(other)[Symbol.asyncIterator]();
  let left: Buffer = Buffer.alloc(0);
  for await (const piece of createReadStream(one) as AsyncIterable<Buffer>) {
    while (left.length < piece.length) {
      const next = await others.next();
      if (next.done === true) return false;
      left = Buffer.concat([left, next.value as Buffer]);
    }
    if (!left.subarray(0, piece.length).equals(piece)) return false;
    left = left.subarray(piece.length);
  }
  return left.length === 0;
}
