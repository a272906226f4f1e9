import { existsSync } from "node:fs";
import { open, rename, rm } from "node:fs/promises";
import { dirname } from "node:path";
import { BenchError } from "../../../shared/bench-error.ts";
import { syncFolder } from "../store/attachment-store.ts";
import { storageProblem } from "../store/storage-problem.ts";
import { sqliteFileProblems } from "./sqlite-file.ts";

/**
 * Makes a copy of a database that is whole or not there: written beside `to`, made safe on the disk, checked, and only
 * then given its name. Throws BenchError "bad-input" where `to` is there already or the copy is not sound, "disk-full",
 * or "data-not-writable".
 */
export async function backUpDatabase(copyTo: (path: string) => Promise<void>, to: string): Promise<void> {
  if (existsSync(to))
    throw new BenchError("bad-input", `Cannot back up to ${to}: the file exists already; nothing was written`);
  const making = `${to}.making-${process.pid}`;
  try {
    await rm(making, { force: true });
    await copyTo(making);
    const file = await open(making, "r+");
    await file.chmod(0o600);
    await file.sync();
    await file.close();
    const problems = sqliteFileProblems(making);
    if (problems.length > 0)
      throw new BenchError("bad-input", `The record is damaged, no backup was made: ${problems[0]}`);
    await rename(making, to);
    await syncFolder(dirname(to));
  } catch (error) {
    await rm(making, { force: true });
    throw storageProblem(error, `Cannot back up to ${to}`);
  }
}
