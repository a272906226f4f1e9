import path from "node:path";
import { z } from "zod";
import { BenchError, quoted } from "../../../shared/bench-error.ts";
import { BenchFile } from "../../../shared/files/bench-file.ts";
import { BoardFile } from "../../../shared/files/board-file.ts";
import type { Remembered } from "../../../shared/files/remembered.ts";
import { readDocument } from "../input/read-document.ts";
import { readRemembered, writeRemembered } from "../input/remembered-file.ts";
import { REMEMBERED_NAMES, type RememberedName } from "../input/remembered-names.ts";

/** Settings to keep from now on, and names of those to forget; a setting in neither stays. */
export interface RememberChange {
  /** Bench file, board file, or both; their content tells which is which. */
  files: readonly string[];
  host?: "none" | "attached";
  fans?: "on" | "off";
  cooler?: "bare" | "block" | "cooler";
  job?: string;
  forget: readonly RememberedName[];
}

/**
 * Remembers and forgets, and answers with what is remembered then. Every file is read and checked, and the job is found by
 * `jobOf`, before anything is changed. Throws BenchError "bad-input", or "data-not-writable".
 */
export async function remember(
  directory: string,
  { files, host, fans, cooler, job, forget }: RememberChange,
  jobOf: (job: string) => Promise<string>,
): Promise<Remembered> {
  const given = {
    ...(await kindsOf(files)),
    ...(host === undefined ? {} : { host }),
    ...(fans === undefined ? {} : { fans }),
    ...(cooler === undefined ? {} : { cooler }),
    ...(job === undefined ? {} : { job: await jobOf(job) }),
  };
  // A damaged file is not read where everything in it is to be forgotten.
  const before = forget.length === REMEMBERED_NAMES.length ? null : await readRemembered(directory);
  const kept = Object.entries(before ?? {}).filter(([name]) => !forget.some((each) => each === name));
  const now = { ...Object.fromEntries(kept), ...given, version: 1 } as Remembered;
  if (Object.keys(given).length > 0 || forget.length > 0) await writeRemembered(directory, now);
  return now;
}

/** The absolute paths of the files, each under what its content says it is. */
async function kindsOf(files: readonly string[]): Promise<Pick<Remembered, "bench" | "board">> {
  const found: { bench?: string; board?: string } = {};
  for (const file of files) {
    const content = await readDocument({ schema: z.looseObject({}), what: "file", file });
    const kind = "instruments" in content ? "bench" : "board";
    if (found[kind] !== undefined)
      throw new BenchError(
        "bad-input",
        `Cannot use ${quoted(file)}: a ${kind} file was given already; give one bench file and one board file at most; nothing was changed`,
      );
    await readDocument({ schema: kind === "bench" ? BenchFile : BoardFile, what: `${kind} file`, file });
    found[kind] = path.resolve(file);
  }
  return found;
}
