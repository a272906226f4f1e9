import { constants } from "node:fs";
import { type FileHandle, open } from "node:fs/promises";
import { BenchError, quoted } from "../../../shared/bench-error.ts";
import { messageOf } from "../../../shared/words/message-of.ts";
import { END_BYTES, localHeader, readZipTail, type ZipEntry, zipCrc } from "./stored-zip.ts";

const LARGEST_DIRECTORY = 16 * 1024 * 1024;
const LARGEST_TEXT = 256 * 1024 * 1024;
const PIECE = 256 * 1024;

/** Ends the reading with a sentence of what is wrong. */
export type Refuse = (why: string) => never;

/** An archive whose form was checked: it is what `stored-zip.ts` writes, byte for byte. */
export interface OpenArchive {
  /** Its entries, in order; none is there twice. */
  names: string[];
  /** Bytes of an entry; null for none of that name. */
  sizeOf(name: string): number | null;
  /** Reads an entry in pieces and checks its sum at the end. */
  pieces(name: string): AsyncGenerator<Buffer>;
  /** A whole entry as text of at most 256 MiB. */
  text(name: string): Promise<string>;
  close(): Promise<void>;
}

/**
 * Opens an archive and checks its form: entries are stored, never packed, so none can grow; each header is the only one possible.
 * `what` is named where it is none.
 */
export async function openArchive(path: string, what: string, refuse: Refuse): Promise<OpenArchive> {
  const file = await open(path, constants.O_RDONLY | constants.O_NONBLOCK).catch((error: NodeJS.ErrnoException) =>
    refuse(error.code === "ENOENT" ? "the file does not exist" : messageOf(error)),
  );
  try {
    const entries =
      (await readDirectory(file)) ?? refuse(`it is not ${what}, or it was damaged or changed by another program`);
    const places = new Map<string, { at: number; entry: ZipEntry }>();
    let at = 0;
    for (const entry of entries) {
      if (places.has(entry.name)) refuse(`it holds ${quoted(entry.name)} twice`);
      const expected = localHeader(entry);
      if (!(await readExactly(file, at, expected.length)).equals(expected))
        refuse(`the entry ${quoted(entry.name)} is damaged`);
      places.set(entry.name, { at: at + expected.length, entry });
      at += expected.length + entry.bytes;
    }
    async function* pieces(name: string): AsyncGenerator<Buffer> {
      const place = places.get(name) ?? refuse(`${name} is missing`);
      let crc = 0;
      for (let from = 0; from < place.entry.bytes; from += PIECE) {
        const piece = await readExactly(file, place.at + from, Math.min(PIECE, place.entry.bytes - from));
        crc = zipCrc(piece, crc);
        yield piece;
      }
      if (crc !== place.entry.crc) refuse(`the entry ${quoted(name)} is damaged`);
    }
    return {
      names: entries.map(({ name }) => name),
      sizeOf: (name) => places.get(name)?.entry.bytes ?? null,
      pieces,
      async text(name) {
        if ((places.get(name)?.entry.bytes ?? 0) > LARGEST_TEXT)
          refuse(`${name} is larger than ${LARGEST_TEXT / 1024 / 1024} MiB`);
        const all: Buffer[] = [];
        for await (const piece of pieces(name)) all.push(piece);
        try {
          return new TextDecoder("utf-8", { fatal: true, ignoreBOM: true }).decode(Buffer.concat(all));
        } catch {
          return refuse(`${name} is not UTF-8 text`);
        }
      },
      close: () => file.close(),
    };
  } catch (error) {
    await file.close();
    throw error;
  }
}

async function readDirectory(file: FileHandle): Promise<ZipEntry[] | null> {
  const info = await file.stat();
  if (!info.isFile() || info.size < END_BYTES) return null;
  const end = await readExactly(file, info.size - END_BYTES, END_BYTES);
  const bytes = end.readUInt32LE(12) + END_BYTES;
  if (bytes > LARGEST_DIRECTORY || bytes > info.size) return null;
  return readZipTail(await readExactly(file, info.size - bytes, bytes), info.size);
}

async function readExactly(file: FileHandle, at: number, bytes: number): Promise<Buffer> {
  const buffer = Buffer.alloc(bytes);
  let read = 0;
  while (read < bytes) {
    const { bytesRead } = await file.read(buffer, read, bytes - read, at + read);
    if (bytesRead === 0) throw new BenchError("bad-input", "The archive ended while it was read; nothing was written");
    read += bytesRead;
  }
  return buffer;
}
