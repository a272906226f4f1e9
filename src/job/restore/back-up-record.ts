import { randomUUID } from "node:crypto";
import { existsSync } from "node:fs";
import { mkdir, rename, rm } from "node:fs/promises";
import { dirname, join } from "node:path";
import { BenchError, quoted } from "../../../shared/bench-error.ts";
import { syncFolder } from "../store/attachment-store.ts";
import type { JobStore } from "../store/job-store.ts";
import { storageProblem } from "../store/storage-problem.ts";
import { copyRecordFiles } from "./restore-files.ts";

/**
 * Copies a record whole into a folder that is there only when all of it is: the database as `JobStore.backup` does, first, so that
 * every file it names is copied after it; then captures and attachments. Answers how many files. Throws BenchError "bad-input" where
 * something is there already or the database is damaged, "disk-full", or "data-not-writable".
 */
export async function backUpRecord(store: JobStore, to: string): Promise<number> {
  if (existsSync(to))
    throw new BenchError("bad-input", `Cannot back up to ${quoted(to)}: the file exists already; nothing was written`);
  const making = `${to}.making-${randomUUID()}`;
  try {
    await mkdir(making, { mode: 0o700 });
    await store.backup(join(making, "firstamp.db"));
    const files = await copyRecordFiles(store.dir, making);
    await rename(making, to);
    await syncFolder(dirname(to));
    return files;
  } catch (cause) {
    throw storageProblem(cause, `Cannot back up to ${quoted(to)}`);
  } finally {
    await rm(making, { recursive: true, force: true });
  }
}
