import { readFileSync, renameSync, rmSync, statSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { BenchError, quoted } from "../../../shared/bench-error.ts";
import { holdFile } from "../database/sqlite-file.ts";
import { makeFolder } from "./make-folder.ts";
import { makeOwnFile, mustBeOwnFolder } from "./own-folder.ts";
import { storageProblem } from "./storage-problem.ts";

/** The process that owns a data directory, as it named itself. */
export interface DataHolder {
  pid: number;
  startedAt: string;
  command: string;
}

export interface DataLock {
  release(): void;
}

// Somebody who only looks whether the folder is owned holds it for a moment, which must not turn an owner away.
const PROBE_PASSES_MS = 250;
const lockPath = (dir: string) => join(dir, "owner.lock");
const holderPath = (dir: string) => join(dir, "owner.json");

/**
 * Makes this process the owner of `dir`, which is made if need be. The hold ends with the process, also when it is
 * killed, so that the next one simply takes over. Throws BenchError "data-in-use" naming the holder, or
 * "data-not-writable".
 */
export function takeDataLock(dir: string, command: string): DataLock {
  const hold = orProblem(dir, () => {
    makeFolder(dir);
    mustBeOwnFolder(dir);
    makeOwnFile(lockPath(dir));
    return holdFile(lockPath(dir), PROBE_PASSES_MS);
  });
  if (hold === null) {
    const holder = dataHolder(dir);
    const who =
      holder === null
        ? "another process"
        : `process ${holder.pid} (${quoted(holder.command)}, since ${holder.startedAt.slice(0, 40)})`;
    throw new BenchError(
      "data-in-use",
      `Cannot use ${dir}: ${who} has it open; end that first, or give another folder with --data`,
      {
        detail: { holder },
      },
    );
  }
  const holder: DataHolder = { pid: process.pid, startedAt: new Date().toISOString(), command };
  try {
    const making = `${holderPath(dir)}.${process.pid}`;
    writeFileSync(making, `${JSON.stringify(holder)}\n`, { mode: 0o600 });
    renameSync(making, holderPath(dir));
  } catch {
    // Naming the holder is a courtesy; the hold itself stands, also on a full disk.
  }
  let isOurs = true;
  return {
    release: () => {
      // A second call must not take away the name of whoever owns it by then.
      if (!isOurs) return;
      isOurs = false;
      rmSync(holderPath(dir), { force: true });
      hold.release();
    },
  };
}

/** The process that last claimed `dir`; null where none did. Only the lock itself tells whether it still has it. */
export function dataHolder(dir: string): DataHolder | null {
  try {
    if (!statSync(holderPath(dir)).isFile()) return null;
    const holder = JSON.parse(readFileSync(holderPath(dir), "utf8")) as Partial<DataHolder> | null;
    const { pid, startedAt, command } = holder ?? {};
    if (typeof pid !== "number" || typeof startedAt !== "string" || typeof command !== "string") return null;
    return { pid, startedAt, command };
  } catch {
    return null;
  }
}

/** Whether some process owns `dir` now. */
export function isDataInUse(dir: string): boolean {
  const hold = orProblem(dir, () => holdFile(lockPath(dir), 0));
  hold?.release();
  return hold === null;
}

function orProblem<T>(dir: string, run: () => T): T {
  try {
    return run();
  } catch (error) {
    throw storageProblem(error, `Cannot use ${dir} for the record`);
  }
}
