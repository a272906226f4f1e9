import { existsSync } from "node:fs";
import { rename, rm, writeFile } from "node:fs/promises";
import path from "node:path";
import { BenchError } from "../../../shared/bench-error.ts";
import type { Remembered } from "../../../shared/files/remembered.ts";
import { messageOf } from "../../../shared/words/message-of.ts";
import { makeFolder } from "../../job/store/make-folder.ts";
import { REMEMBERED_NAMES } from "./remembered-names.ts";

/** The file of a data directory in which `firstamp use` keeps what it remembers. */
export const rememberedFile = (directory: string): string => path.join(directory, "use.json");

/** The settings remembered for this data directory; null if nothing is. Throws BenchError "bad-input" for a damaged file. */
export async function readRemembered(directory: string): Promise<Remembered | null> {
  const file = rememberedFile(directory);
  if (!existsSync(file)) return null;
  const [{ Remembered }, { readDocument }] = await Promise.all([
    import("../../../shared/files/remembered.ts"),
    import("./read-document.ts"),
  ]);
  try {
    return await readDocument({ schema: Remembered, what: 'what "firstamp use" remembers,', file });
  } catch (cause) {
    const what = `${messageOf(cause)}. "firstamp use --forget all" removes the file; --fresh runs without it`;
    throw new BenchError("bad-input", what, { cause });
  }
}

/** Keeps this in place of what was remembered; the file is there whole or not at all, and not at all if it says nothing. */
export async function writeRemembered(directory: string, remembered: Remembered): Promise<void> {
  const file = rememberedFile(directory);
  try {
    if (REMEMBERED_NAMES.every((name) => remembered[name] === undefined)) {
      await rm(file, { force: true });
      return;
    }
    makeFolder(directory);
    await writeFile(`${file}.new`, `${JSON.stringify(remembered, null, 2)}\n`, { mode: 0o600 });
    await rename(`${file}.new`, file);
  } catch (cause) {
    const why = `Cannot write ${file}: ${messageOf(cause)}; nothing was changed`;
    throw new BenchError("data-not-writable", why, { cause });
  }
}
