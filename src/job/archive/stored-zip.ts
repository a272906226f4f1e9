import { crc32 } from "node:zlib";

/** One file in an archive: its name with "/" between folders, its length and CRC-32. */
export interface ZipEntry {
  name: string;
  bytes: number;
  crc: number;
}

const LARGEST = 0xffff_ffff;
const MOST_ENTRIES = 0xfffe;
// 1980-01-01 00:00, the first moment a zip can name: the same job must give the same bytes whenever it is exported.
const DOS_DATE = 0x0021;
const DOS_TIME = 0;
const VERSION = 20;
const UTF8_NAMES = 0x0800;
export const END_BYTES = 22;

/**
 * The parts of a zip archive (PKWARE APPNOTE 6.3, §4.3) that hold nothing but stored entries with fixed times: what
 * precedes each file, and what follows the last. Only these bytes are ever written, and only these are taken in, so an
 * archive has exactly one form and unpacks to exactly its own size.
 */
export function localHeader({ name, bytes, crc }: ZipEntry): Buffer {
  const encoded = Buffer.from(name, "utf8");
  const header = Buffer.alloc(30);
  header.writeUInt32LE(0x04034b50, 0);
  header.writeUInt16LE(VERSION, 4);
  header.writeUInt16LE(UTF8_NAMES, 6);
  header.writeUInt16LE(DOS_TIME, 10);
  header.writeUInt16LE(DOS_DATE, 12);
  header.writeUInt32LE(crc, 14);
  header.writeUInt32LE(bytes, 18);
  header.writeUInt32LE(bytes, 22);
  header.writeUInt16LE(encoded.length, 26);
  return Buffer.concat([header, encoded]);
}

/** The central directory and the end record for entries that stand one after the other from the start of the file. */
export function zipTail(entries: readonly ZipEntry[]): Buffer {
  const parts: Buffer[] = [];
  let at = 0;
  for (const entry of entries) {
    const local = localHeader(entry);
    const header = Buffer.alloc(46);
    header.writeUInt32LE(0x02014b50, 0);
    header.writeUInt16LE(VERSION, 4);
    local.copy(header, 6, 4, 30);
    header.writeUInt32LE(at, 42);
    parts.push(header, local.subarray(30));
    at += local.length + entry.bytes;
  }
  const directoryBytes = parts.reduce((sum, part) => sum + part.length, 0);
  const end = Buffer.alloc(END_BYTES);
  end.writeUInt32LE(0x06054b50, 0);
  end.writeUInt16LE(entries.length, 8);
  end.writeUInt16LE(entries.length, 10);
  end.writeUInt32LE(directoryBytes, 12);
  end.writeUInt32LE(at, 16);
  return Buffer.concat([...parts, end]);
}

/** Whether the entries fit a plain zip: together under 4 GiB, fewer than 65,535. */
export function fitsZip(entries: readonly ZipEntry[]): boolean {
  const total = entries.reduce((sum, entry) => sum + entry.bytes + 76 + 2 * Buffer.byteLength(entry.name), END_BYTES);
  return entries.length <= MOST_ENTRIES && total <= LARGEST;
}

/**
 * The entries that `directory` (central directory and end record, the end of a file of `fileBytes`) lists, or null where
 * it is not byte for byte what `zipTail` makes of them.
 */
export function readZipTail(directory: Buffer, fileBytes: number): ZipEntry[] | null {
  const entries: ZipEntry[] = [];
  let at = 0;
  while (at + 46 <= directory.length - END_BYTES) {
    const nameBytes = directory.readUInt16LE(at + 28);
    const name = directory.subarray(at + 46, at + 46 + nameBytes).toString("utf8");
    if (Buffer.byteLength(name) !== nameBytes) return null;
    entries.push({ name, bytes: directory.readUInt32LE(at + 24), crc: directory.readUInt32LE(at + 16) });
    at += 46 + nameBytes;
  }
  const content = entries.reduce((sum, entry) => sum + 30 + Buffer.byteLength(entry.name) + entry.bytes, 0);
  // Before anything is made of them: sums and names that fit the file also fit the fields of a zip.
  if (content + directory.length !== fileBytes || !fitsZip(entries)) return null;
  return zipTail(entries).equals(directory) ? entries : null;
}

/** CRC-32 as zip has it, taken up from `before`. */
export const zipCrc = (piece: Uint8Array, before = 0): number => crc32(piece, before);
