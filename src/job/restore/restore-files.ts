import { existsSync } from "node:fs";
import { copyFile, mkdir, readdir, rename, rm } from "node:fs/promises";
import { dirname, join, relative } from "node:path";
import { captureFile, levelsFile, tailFile } from "../../capture/capture-files.ts";
import { type CaptureNotes, captureBytes, storedReadings } from "../../capture/read-capture.ts";
import { attachmentProblem } from "../store/check-record.ts";
import { makeFolder } from "../store/make-folder.ts";

/** Copies a file under its own name beside it first, so that it is whole or not there. */
async function placeCopy(from: string, to: string): Promise<void> {
  makeFolder(dirname(to));
  const making = `${to}.restoring`;
  await copyFile(from, making);
  await rename(making, to);
}

/**
 * Puts back captures and attachments that are missing or damaged in `dir` and sound in the copy `from`; what is damaged is moved under
 * `aside` first. Answers what was put back, by its path in the data directory.
 */
export async function restoreFiles(dir: string, from: string, aside: string): Promise<string[]> {
  const restored: string[] = [];
  const putBack = async (path: string): Promise<void> => {
    const name = relative(from, path);
    const target = join(dir, name);
    if (existsSync(target)) {
      makeFolder(dirname(join(aside, name)));
      await rename(target, join(aside, name));
    }
    await placeCopy(path, target);
    restored.push(name);
  };
  const captures = join(from, "captures");
  for (const file of await namesIn(captures)) {
    const id = /^([0-9a-f-]{36})\.chunks$/.exec(file)?.[1];
    if (id === undefined || (await soundness(captures, id)) <= (await soundness(join(dir, "captures"), id))) continue;
    await putBack(captureFile(captures, id));
    if (existsSync(tailFile(captures, id))) await putBack(tailFile(captures, id));
    // Made again from the readings when they are looked at.
    await rm(levelsFile(join(dir, "captures"), id), { force: true });
  }
  for (const part of await namesIn(join(from, "attachments"))) {
    if (!/^[0-9a-f]{2}$/.test(part)) continue;
    for (const sha256 of await namesIn(join(from, "attachments", part))) {
      const isBetter =
        (await attachmentProblem(dir, sha256)) !== null && (await attachmentProblem(from, sha256)) === null;
      if (isBetter) await putBack(join(from, "attachments", part, sha256));
    }
  }
  return restored;
}

const namesIn = async (folder: string): Promise<string[]> => (existsSync(folder) ? await readdir(folder) : []);

/** The worth of a capture's file: -1 not there or not readable, then the number of readings, and one more where it has no gap. */
async function soundness(captures: string, id: string): Promise<number> {
  try {
    const notes: CaptureNotes = { closed: "open", gaps: [] };
    let readings = 0;
    for (const _ of storedReadings(await captureBytes(captures, id), id, notes)) readings++;
    return readings + (notes.gaps.length === 0 ? 1 : 0);
  } catch {
    return -1;
  }
}

/** Copies the files of a record, captures and attachments, into a folder. */
export async function copyRecordFiles(dir: string, to: string): Promise<number> {
  let copied = 0;
  const captures = join(dir, "captures");
  await mkdir(join(to, "captures"), { mode: 0o700 });
  for (const file of await namesIn(captures)) {
    const id = /^([0-9a-f-]{36})\.chunks$/.exec(file)?.[1];
    if (id === undefined) continue;
    // The tail first: what is packed meanwhile is then in both, and not in neither.
    const tail = tailFile(captures, id);
    await copyFile(tail, tailFile(join(to, "captures"), id)).catch(() => undefined);
    await copyFile(captureFile(captures, id), captureFile(join(to, "captures"), id));
    copied++;
  }
  for (const part of await namesIn(join(dir, "attachments"))) {
    if (!/^[0-9a-f]{2}$/.test(part)) continue;
    await mkdir(join(to, "attachments", part), { recursive: true, mode: 0o700 });
    for (const sha256 of await namesIn(join(dir, "attachments", part))) {
      await copyFile(join(dir, "attachments", part, sha256), join(to, "attachments", part, sha256));
      copied++;
    }
  }
  return copied;
}
