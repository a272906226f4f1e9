import { createHash } from "node:crypto";
import { createReadStream, existsSync } from "node:fs";
import { BenchError } from "../../../shared/bench-error.ts";
import { ArchiveManifest } from "../../../shared/record/job-archive.ts";
import { captureFile, settledBytes } from "../../capture/capture-files.ts";
import { attachmentPath } from "../store/attachment-store.ts";
import { isDataInUse } from "../store/data-lock.ts";
import type { JobStore } from "../store/job-store.ts";
import {
  attachmentEntry,
  captureEntry,
  EVENTS,
  eventLine,
  MANIFEST,
  manifestHead,
  manifestText,
} from "./archive-form.ts";
import { type ZipEntry, zipCrc } from "./stored-zip.ts";

/** An entry with where its bytes come from: a file, or the bytes themselves. */
export interface ArchivePart extends ZipEntry {
  from: string | Buffer;
  sha256: string;
}

/**
 * Everything an archive of the job holds, in order: manifest, events, captures, attachments. Reads every file once for its
 * sums. Throws BenchError "bad-input" while a run of the job is being recorded, or where a file of it is missing or not
 * what was filed.
 */
export async function collectJob(store: JobStore, job: string): Promise<ArchivePart[]> {
  const all = await store.jobRows(job);
  // The way by which the job came into this record is no part of it: the same job gives the same archive wherever it is kept.
  const rows = { ...all, events: all.events.filter(({ kind }) => kind !== "imported") };
  if (rows.captures.some((each) => each.state === "open") && (!store.readOnly || isDataInUse(store.dir))) {
    throw new BenchError(
      "bad-input",
      "Cannot export the job while one of its runs is being recorded; wait for the run to end",
    );
  }
  const events = Buffer.from(rows.events.map((row, index) => `${eventLine(row, index + 1)}\n`).join(""), "utf8");
  const parts: ArchivePart[] = [await summed(EVENTS, events)];
  for (const { id } of rows.captures) {
    // A process killed between filing the run and its first reading leaves no file.
    const path = captureFile(store.captureDir, id);
    if (!existsSync(path)) continue;
    // One that a killed process left goes out as it will be once the record was opened to write.
    parts.push(await summed(captureEntry(id), (await settledBytes(store.captureDir, id)) ?? path));
  }
  for (const { sha256 } of rows.attachments) {
    const path = attachmentPath(store.dir, sha256);
    if (!existsSync(path)) throw new BenchError("bad-input", `The attachment ${sha256} is missing from ${store.dir}`);
    const part = await summed(attachmentEntry(sha256), path);
    if (part.sha256 !== sha256)
      throw new BenchError("bad-input", `The attachment ${sha256} in ${store.dir} is damaged`);
    parts.push(part);
  }
  const files = parts.map(({ name, bytes, sha256 }) => ({ name, bytes, sha256 }));
  const manifest = ArchiveManifest.parse({ ...manifestHead(rows), files });
  return [await summed(MANIFEST, Buffer.from(manifestText(manifest), "utf8")), ...parts];
}

/** A part of an archive with its sums. */
export async function summed(name: string, from: string | Buffer): Promise<ArchivePart> {
  const hash = createHash("sha256");
  let bytes = 0;
  let crc = 0;
  for await (const piece of piecesOf(from)) {
    hash.update(piece);
    crc = zipCrc(piece, crc);
    bytes += piece.length;
  }
  return { name, from, bytes, crc, sha256: hash.digest("hex") };
}

/** The bytes of a part, in pieces. */
export async function* piecesOf(from: string | Buffer): AsyncGenerator<Buffer> {
  if (typeof from === "string") yield* createReadStream(from) as AsyncIterable<Buffer>;
  else if (from.length > 0) yield from;
}
