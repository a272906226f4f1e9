import { constants } from "node:fs";
import { type FileHandle, open, stat } from "node:fs/promises";

/** Why a file was not read although it is there: it is a pipe, a device or a socket, or it is too large. */
export class NotAPlainFile extends Error {}

/** The greatest size of a document that a person writes, bytes. */
export const MOST_DOCUMENT_BYTES = 16 * 1024 * 1024;

/**
 * Opens a file for reading and answers at once, whatever is there. A named pipe has no end until somebody writes, and
 * opening a device may change it: both are refused before they are opened. Throws NotAPlainFile, or what the system threw.
 */
export async function openPlainFile(file: string): Promise<FileHandle> {
  mustBePlain(await stat(file));
  // The file may be replaced after the look: opening never waits, and what was opened is looked at again.
  const handle = await open(file, constants.O_RDONLY | constants.O_NONBLOCK | constants.O_NOCTTY);
  try {
    mustBePlain(await handle.stat());
    return handle;
  } catch (cause) {
    await handle.close();
    throw cause;
  }
}

/** The whole text of a plain file as UTF-8. Throws NotAPlainFile if it is not one or is larger, or what the system threw. */
export async function readPlainFile(file: string, mostBytes = MOST_DOCUMENT_BYTES): Promise<string> {
  const handle = await openPlainFile(file);
  try {
    const { size } = await handle.stat();
    if (size > mostBytes)
      throw new NotAPlainFile(`it has ${size} bytes; at most ${mostBytes / 1024 / 1024} MiB are read`);
    return await handle.readFile("utf8");
  } finally {
    await handle.close();
  }
}

function mustBePlain(found: { isFile(): boolean; isDirectory(): boolean }): void {
  if (found.isFile()) return;
  throw new NotAPlainFile(found.isDirectory() ? "it is a folder" : "it is a pipe or a device, not a plain file");
}
