import { createHash, randomUUID } from "node:crypto";
import { createReadStream, existsSync } from "node:fs";
import { mkdir, open, readFile, rename, rm } from "node:fs/promises";
import { join } from "node:path";
import { BenchError, quoted } from "../../../shared/bench-error.ts";
import { FeedReading } from "../../../shared/reading.ts";
import type { JobEventOf } from "../../../shared/record/job.ts";
import { captureFile } from "../../capture/capture-files.ts";
import { chunkReadings } from "../../capture/read-capture.ts";
import { scanChunks } from "../../capture/scan-chunks.ts";
import { keepBytes, syncFolder } from "../store/attachment-store.ts";
import type { JobStore } from "../store/job-store.ts";
import { safeName } from "../store/safe-name.ts";
import { benchOf, parseStamp } from "../store/stamp.ts";
import { storageProblem } from "../store/storage-problem.ts";
import { shortId } from "../store/uuid-v7.ts";
import { attachmentEntry, captureEntry, manifestText } from "./archive-form.ts";
import { collectJob } from "./collect-job.ts";
import { type CheckedArchive, readArchive } from "./read-archive.ts";

/**
 * Takes a job from an archive into the record, all of it or nothing, and files with it where it came from. The very same job
 * here already: nothing is done, and the answer says so. Throws BenchError "bad-input" for an archive that is damaged, or whose
 * job, capture or event is here with other content.
 */
export async function importJob(
  store: JobStore,
  path: string,
): Promise<{ job: string; done: "imported"; came: JobEventOf<"imported"> } | { job: string; done: "same" }> {
  const archive = await readArchive(path);
  try {
    const job = archive.rows.job.id;
    if (await store.hasJob(job)) {
      const [here] = await collectJob(store, job);
      if (Buffer.isBuffer(here?.from) && here.from.toString("utf8") === manifestText(archive.manifest))
        return { job, done: "same" };
      throw new BenchError(
        "bad-input",
        `Cannot import ${quoted(path)}: the job ${shortId(job)} is here already and differs from the one in the archive; nothing was written`,
      );
    }
    const came = await howItCame(archive, path);
    await takeIn(store, archive, { path, came });
    return { job, done: "imported", came };
  } finally {
    await archive.close();
  }
}

/** The origin of a job: the file, and the benches that its events name. Nothing in an archive proves either. */
async function howItCame({ rows }: CheckedArchive, path: string): Promise<JobEventOf<"imported">> {
  const hash = createHash("sha256");
  let bytes = 0;
  for await (const piece of createReadStream(path)) {
    hash.update(piece);
    bytes += piece.length;
  }
  const origins = rows.events.map(({ stamp }) => parseStamp(stamp)?.origin ?? "");
  const by = [...new Set(origins.map((origin) => benchOf(origin) ?? "a bench that is not named"))];
  const file = safeName(path);
  return { kind: "imported", file, sha256: hash.digest("hex"), bytes, events: rows.events.length, by, signed: false };
}

async function takeIn(
  store: JobStore,
  archive: CheckedArchive,
  { path, came }: { path: string; came: JobEventOf<"imported"> },
): Promise<void> {
  const staging = join(store.dir, `importing-${randomUUID()}`);
  const placed: string[] = [];
  try {
    await mkdir(staging, { mode: 0o700 });
    for (const id of archive.captures) {
      await stageCapture(archive, id, staging, path);
      if (existsSync(captureFile(store.captureDir, id))) {
        throw new BenchError(
          "bad-input",
          `Cannot import ${quoted(path)}: the capture ${id} is here already; nothing was written`,
        );
      }
    }
    for (const id of archive.captures) {
      const target = captureFile(store.captureDir, id);
      await rename(captureFile(staging, id), target);
      placed.push(target);
    }
    await syncFolder(store.captureDir);
    for (const { sha256 } of archive.manifest.attachments) {
      const name = attachmentEntry(sha256);
      await keepBytes(store.dir, archive.pieces(name), name);
    }
    await store.insertJobRows(archive.rows, came);
  } catch (error) {
    for (const target of placed) await rm(target, { force: true });
    if (error instanceof Error && "code" in error && String(error.code).startsWith("SQLITE_CONSTRAINT")) {
      throw new BenchError(
        "bad-input",
        `Cannot import ${quoted(path)}: one of its events or captures belongs to another job here; nothing was written`,
        {
          cause: error,
        },
      );
    }
    throw storageProblem(error, `Cannot import ${quoted(path)}`);
  } finally {
    await rm(staging, { recursive: true, force: true });
  }
}

/** Writes a capture's file aside and reads it as a capture: what cannot be read back must not get in. */
async function stageCapture(archive: CheckedArchive, id: string, staging: string, path: string): Promise<void> {
  const file = await open(captureFile(staging, id), "wx", 0o600);
  try {
    for await (const piece of archive.pieces(captureEntry(id))) await file.write(piece);
    await file.sync();
  } finally {
    await file.close();
  }
  const problem = readingProblem(await readFile(captureFile(staging, id)), id);
  if (problem !== undefined) {
    throw new BenchError(
      "bad-input",
      `Cannot import ${quoted(path)}: the capture ${id} holds something that is not a reading; nothing was written`,
      { cause: problem },
    );
  }
}

/** The parts of a capture's bytes that are no reading. Chunk by chunk: a small file may say that it holds very many. */
function readingProblem(bytes: Buffer, id: string): unknown {
  for (const found of scanChunks(bytes, id)) {
    if (typeof found === "string") continue;
    try {
      for (const { reading, eventAtMs } of chunkReadings(found.head, found.payload)) {
        const { error } = FeedReading.safeParse(reading);
        if (error !== undefined) return error;
        if (typeof eventAtMs !== "number") return eventAtMs;
      }
    } catch (cause) {
      return cause;
    }
  }
  return undefined;
}
