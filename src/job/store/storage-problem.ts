import { BenchError } from "../../../shared/bench-error.ts";
import { messageOf } from "../../../shared/words/message-of.ts";

const FULL = new Set(["SQLITE_FULL", "SQLITE_IOERR_WRITE", "SQLITE_IOERR_FSYNC", "ENOSPC", "EDQUOT", "EFBIG"]);
const REFUSED = new Set(["EACCES", "EPERM", "EROFS", "ENOTDIR", "EEXIST", "ENOENT", "EISDIR", "ENAMETOOLONG", "ELOOP"]);
const DAMAGED = new Set(["SQLITE_CORRUPT", "SQLITE_NOTADB", "SQLITE_CORRUPT_VTAB", "SQLITE_CORRUPT_INDEX"]);

/** These say nothing of the file. */
const PASSING = new Set(["SQLITE_CONSTRAINT", "SQLITE_BUSY"]);

const codeOf = (error: unknown): string =>
  error instanceof Error && "code" in error && typeof error.code === "string" ? error.code : "";

/** Whether there was no room on the disk for what was tried. */
export const isDiskFull = (error: unknown): boolean =>
  FULL.has(codeOf(error)) || (error instanceof BenchError && error.code === "disk-full");

/**
 * The BenchError for an error of the file system or of SQLite: "disk-full", "data-not-writable", or "bad-input" for a
 * damaged file. `tried` begins the sentence: "Cannot file the event in /data". Any other error comes back as it is.
 */
export function storageProblem(error: unknown, tried: string): unknown {
  if (error instanceof BenchError) return error;
  const code = codeOf(error);
  if (FULL.has(code)) {
    return new BenchError("disk-full", `${tried}: the disk is full (${code}); what was filed before is intact`, {
      cause: error,
    });
  }
  if (REFUSED.has(code) || code.startsWith("SQLITE_READONLY") || code.startsWith("SQLITE_CANTOPEN")) {
    return new BenchError(
      "data-not-writable",
      `${tried}: it cannot be written (${code}); choose a folder of your own with --data or FIRSTAMP_DATA`,
      { cause: error },
    );
  }
  if (DAMAGED.has(code)) {
    return new BenchError(
      "bad-input",
      `${tried}: the file is not a job record, or it is damaged (${code}); "firstamp job check" lists the damage, and a copy made by "firstamp job backup" can replace it`,
      {
        cause: error,
      },
    );
  }
  if (code.startsWith("SQLITE_") && !PASSING.has(code)) {
    return new BenchError(
      "bad-input",
      `${tried}: the record is damaged (${messageOf(error)}); "firstamp job check" lists the damage, and a copy made by "firstamp job backup" can replace it`,
      { cause: error },
    );
  }
  return error;
}
