import type { Remembered } from "../../../shared/files/remembered.ts";
import { dataDirectory } from "../input/data-directory.ts";
import { rememberedFile } from "../input/remembered-file.ts";
import { REMEMBERED_NAMES, type RememberedName } from "../input/remembered-names.ts";
import { rememberedValue } from "../input/remembered-text.ts";
import { print, printDocument } from "../text/people.ts";
import { type RememberChange, remember } from "./remember.ts";
import { lookingAtRecord } from "./with-record.ts";

export interface UseOptions extends Omit<RememberChange, "files" | "forget"> {
  forget?: RememberedName[];
  data?: string;
  json?: boolean;
}

/** Remembers the files and options given, forgets those named, and shows what is remembered then. Throws as `remember`. */
export async function use(files: readonly string[], options: UseOptions): Promise<void> {
  const { data, json, forget = [], ...set } = options;
  const directory = dataDirectory(data);
  const now = await remember(directory, { ...set, files, forget }, (job) =>
    lookingAtRecord(data, (store) => store.findJob(job)),
  );
  tell(now, directory, json === true);
}

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
