import { mkdirSync, readFileSync, renameSync, rmSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { z } from "zod";
import { BenchError } from "../../shared/bench-error.ts";
import { holdFile } from "./sqlite-file.ts";
import { storageProblem } from "./storage-problem.ts";

const Holder = z.object({ pid: z.number().int(), startedAt: z.string(), command: z.string() });
/** The process that owns a data directory, as it named itself. */
export type DataHolder = z.infer<typeof Holder>;

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
    mkdirSync(dir, { recursive: true, mode: 0o700 });
    return holdFile(lockPath(dir), PROBE_PASSES_MS);
  });
  if (hold === null) {
    const holder = dataHolder(dir);
    const who =
      holder === null ? "another process" : `process ${holder.pid} ("${holder.command}", since ${holder.startedAt})`;
    throw new BenchError("data-in-use", `Cannot use ${dir}: ${who} owns it; end that first, or give another folder with --data`, {
      detail: { holder },
    });
  }
  const holder: DataHolder = { pid: process.pid, startedAt: new Date().toISOString(), command };
  try {
    const making = `${holderPath(dir)}.${process.pid}`;
    writeFileSync(making, `${JSON.stringify(holder)}\n`, { mode: 0o600 });
    renameSync(making, holderPath(dir));
  } catch {
    // Naming the holder is a courtesy; the hold itself stands, also on a full disk.
  }
  return {
    release: () => {
      rmSync(holderPath(dir), { force: true });
      hold.release();
    },
  };
}

/** Who last said to own `dir`; null where nobody did. Only the lock itself tells whether it still does. */
export function dataHolder(dir: string): DataHolder | null {
  try {
    return Holder.parse(JSON.parse(readFileSync(holderPath(dir), "utf8")));
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
