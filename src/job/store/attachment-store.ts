import { createHash, randomUUID } from "node:crypto";
import { constants, existsSync } from "node:fs";
import { type FileHandle, open, rename, rm } from "node:fs/promises";
import { dirname, join } from "node:path";
import { BenchError, quoted } from "../../../shared/bench-error.ts";
import { thisPlatform } from "../../system/platform.ts";
import { makeFolder } from "./make-folder.ts";
import { mediaTypeOf } from "./media-type.ts";
import { storageProblem } from "./storage-problem.ts";

export const LARGEST_ATTACHMENT_BYTES = 20 * 1024 * 1024;
/** The number of bytes by which a file's media type is told. */
export const HEAD_BYTES = 4096;

export interface KeptFile {
  sha256: string;
  bytes: number;
  mediaType: string;
}

/** The path of the bytes with this hash under the data directory `dir`. */
export const attachmentPath = (dir: string, sha256: string): string =>
  join(dir, "attachments", sha256.slice(0, 2), sha256);

/**
 * Copies a file into the record, named by the SHA-256 of its bytes, and says what it is by its content. It is read in
 * pieces and given up at 20 MiB. The file is safe on the disk when this answers; the same bytes twice are kept once.
 * Throws BenchError "bad-input" (not there, no plain file, too large), "disk-full" or "data-not-writable".
 */
export async function keepFile(dir: string, path: string): Promise<KeptFile> {
  const source = await openPlainFile(path);
  try {
    return await keepBytes(dir, source.createReadStream({ autoClose: false }), path);
  } finally {
    await source.close();
  }
}

/** As `keepFile`, from a stream of bytes; `what` names it in errors. */
export async function keepBytes(dir: string, source: AsyncIterable<Uint8Array>, what: string): Promise<KeptFile> {
  const making = join(dir, "attachments", `.${randomUUID()}`);
  let target: FileHandle | undefined;
  try {
    makeFolder(dirname(making));
    target = await open(making, "wx", 0o600);
    const hash = createHash("sha256");
    let bytes = 0;
    let head = Buffer.alloc(0);
    for await (const piece of source) {
      bytes += piece.length;
      if (bytes > LARGEST_ATTACHMENT_BYTES) {
        throw new BenchError(
          "bad-input",
          `Cannot attach ${quoted(what)}: it is larger than ${LARGEST_ATTACHMENT_BYTES / 1024 / 1024} MiB; make it smaller first`,
        );
      }
      if (head.length < HEAD_BYTES) head = Buffer.concat([head, piece.subarray(0, HEAD_BYTES - head.length)]);
      hash.update(piece);
      await target.write(piece);
    }
    await target.sync();
    await target.close();
    const sha256 = hash.digest("hex");
    const path = attachmentPath(dir, sha256);
    if (existsSync(path)) await rm(making);
    else {
      makeFolder(dirname(path));
      await rename(making, path);
      await syncFolder(dirname(path));
    }
    return { sha256, bytes, mediaType: mediaTypeOf(head) };
  } catch (error) {
    await target?.close().catch(() => undefined);
    await rm(making, { force: true });
    throw storageProblem(error, `Cannot store ${quoted(what)} in ${dir}`);
  }
}

async function openPlainFile(path: string): Promise<FileHandle> {
  let file: FileHandle;
  try {
    // Non-blocking: opening a named pipe would otherwise wait for ever.
    file = await open(path, constants.O_RDONLY | constants.O_NONBLOCK);
  } catch (error) {
    const why =
      error instanceof Error && "code" in error && error.code === "ENOENT" ? "the file does not exist" : String(error);
    throw new BenchError("bad-input", `Cannot attach ${quoted(path)}: ${why}`, { cause: error });
  }
  if ((await file.stat()).isFile()) return file;
  await file.close();
  throw new BenchError("bad-input", `Cannot attach ${quoted(path)}: it is not a plain file`);
}

/** Makes a rename in `folder` last through a power cut, where the system can. */
export async function syncFolder(folder: string): Promise<void> {
  if (!thisPlatform.flushesFolders) return;
  const handle = await open(folder, "r");
  try {
    await handle.sync();
  } finally {
    await handle.close();
  }
}
