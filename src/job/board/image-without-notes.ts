const [MARK, SCAN, END, COMMENT] = [0xff, 0xda, 0xd9, 0xfe];
/** JFIF's own segment and Adobe's, without which colours may come out wrong. */
const KEPT = new Set([0xe0, 0xee]);
const PNG_HEAD = 8;
const PNG_NOTES = new Set(["tEXt", "zTXt", "iTXt", "eXIf", "tIME"]);

/**
 * A picture without what a camera or a program noted in it: place, time, owner, serial number of the camera. JPEG (ITU-T T.81, B.1.1.4:
 * its APPn and COM segments) and PNG (ISO/IEC 15948, 11.3: its text, time and Exif chunks). Null where its parts do not follow each other as they should:
 * then nobody knows what is in it.
 */
export function imageWithoutNotes(bytes: Buffer, mediaType: string): Buffer | null {
  if (mediaType === "image/jpeg") return jpegWithoutNotes(bytes);
  return mediaType === "image/png" ? pngWithoutNotes(bytes) : null;
}

function jpegWithoutNotes(bytes: Buffer): Buffer | null {
  const parts = [bytes.subarray(0, 2)];
  for (let at = 2; at + 2 <= bytes.length; ) {
    const kind = bytes[at + 1] ?? 0;
    if (bytes[at] !== MARK) return null;
    // Bytes behind the end are no part of the picture.
    if (kind === END) return Buffer.concat([...parts, bytes.subarray(at, at + 2)]);
    if (at + 4 > bytes.length) return null;
    let end = at + 2 + bytes.readUInt16BE(at + 2);
    if (kind === SCAN) end = scanEnd(bytes, end);
    const isNote = kind === COMMENT || (kind >= 0xe0 && kind <= 0xef && !KEPT.has(kind));
    if (!isNote) parts.push(bytes.subarray(at, end));
    at = end;
  }
  return null;
}

/** The end of the coded picture of a scan: at a marker that is neither a stuffed byte nor a restart (B.1.1.2, B.1.1.5). */
function scanEnd(bytes: Buffer, from: number): number {
  for (let at = bytes.indexOf(MARK, from); at !== -1; at = bytes.indexOf(MARK, at + 1)) {
    const kind = bytes[at + 1] ?? 0;
    if (kind !== 0 && kind !== MARK && (kind < 0xd0 || kind > 0xd7)) return at;
  }
  return bytes.length;
}

function pngWithoutNotes(bytes: Buffer): Buffer | null {
  const parts = [bytes.subarray(0, PNG_HEAD)];
  for (let at = PNG_HEAD; at + 12 <= bytes.length; ) {
    const end = at + 12 + bytes.readUInt32BE(at);
    if (end > bytes.length) return null;
    const kind = bytes.toString("latin1", at + 4, at + 8);
    if (!PNG_NOTES.has(kind)) parts.push(bytes.subarray(at, end));
    if (kind === "IEND") return Buffer.concat(parts);
    at = end;
  }
  return null;
}
