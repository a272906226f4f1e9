import path from "node:path";
import { z } from "zod";
import { BenchError, quoted } from "../../../shared/bench-error.ts";
import { BenchFile } from "../../../shared/bench-file.ts";
import { BoardFile } from "../../../shared/board-file.ts";
import type { Remembered } from "../../../shared/remembered.ts";
import { dataDirectory } from "../input/data-directory.ts";
import { readDocument } from "../input/read-document.ts";
import { readRemembered, rememberedFile, writeRemembered } from "../input/remembered-file.ts";
import { REMEMBERED_NAMES, type RememberedName } from "../input/remembered-names.ts";
import { rememberedValue } from "../input/remembered-text.ts";
import { print, printDocument } from "../text/people.ts";
import { lookingAtRecord } from "./with-record.ts";

export interface UseOptions {
  host?: "none" | "attached";
  fans?: "on" | "off";
  cooler?: "bare" | "block" | "cooler";
  job?: string;
  forget?: RememberedName[];
  data?: string;
  json?: boolean;
}

/**
 * Remembers the files and options given, forgets those named, and shows what is remembered then. Every file is read and
 * checked, and the job is found, before anything is changed. Throws BenchError "bad-input".
 */
export async function use(files: readonly string[], options: UseOptions): Promise<void> {
  const directory = dataDirectory(options.data);
  const { host, fans, cooler, forget = [] } = options;
  const given = {
    ...(await kindsOf(files)),
    ...(host === undefined ? {} : { host }),
    ...(fans === undefined ? {} : { fans }),
    ...(cooler === undefined ? {} : { cooler }),
    ...(options.job === undefined ? {} : { job: await jobOf(options.data, options.job) }),
  };
  const isChange = Object.keys(given).length > 0 || forget.length > 0;
  // A damaged file can be forgotten without being read.
  const before = forget.length === REMEMBERED_NAMES.length ? null : await readRemembered(directory);
  const kept = Object.entries(before ?? {}).filter(([name]) => !forget.some((each) => each === name));
  const now = { ...Object.fromEntries(kept), ...given, version: 1 } as Remembered;
  if (isChange) await writeRemembered(directory, now);
  tell(now, directory, options.json === true);
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

const jobOf = (data: string | undefined, job: string): Promise<string> =>
  lookingAtRecord(data, (store) => store.findJob(job));

function tell(now: Remembered, directory: string, isJson: boolean): void {
  if (isJson) {
    const all = REMEMBERED_NAMES.map((name) => [name, now[name] ?? null]);
    printDocument({ ...Object.fromEntries(all), file: rememberedFile(directory) });
    return;
  }
  const set = REMEMBERED_NAMES.filter((name) => now[name] !== undefined);
  if (set.length === 0) print('Nothing is set. "firstamp use --help" says what can be.');
  for (const name of set) print(`${name.padEnd(8)}${rememberedValue(name, now)}`);
}
