import type { FirmwareImage, RomImage } from "../../../shared/record/firmware-image.ts";

const UNIT = 512;
const MOST_IMAGES = 64;
const LEGACY = 0;
const LAST = 0x80;
const MOST_OTHERS = 500;

/**
 * The content of a dump of a memory chip: blank, or the images of a PCI expansion ROM with their ids, lengths and checksums (PCI
 * Firmware Specification 3.3, chapter 5; header 5.1.1, data structure 5.1.2). Images follow each other by the length each gives;
 * the first may lie behind a header of the chip's maker, at a multiple of 512 bytes.
 */
export function firmwareImageOf(bytes: Uint8Array): FirmwareImage {
  const blank = blankOf(bytes);
  const images = blank === null ? imagesIn(bytes) : [];
  return { bytes: bytes.length, blank, images, problems: problemsOf(bytes, images) };
}

function blankOf(bytes: Uint8Array): "ff" | "00" | null {
  const [first] = bytes;
  if (first !== 0xff && first !== 0) return null;
  return bytes.every((each) => each === first) ? (first === 0 ? "00" : "ff") : null;
}

function imagesIn(bytes: Uint8Array): RomImage[] {
  let at = 0;
  while (at < bytes.length && romImageAt(bytes, at) === null) at += UNIT;
  const images: RomImage[] = [];
  while (images.length < MOST_IMAGES) {
    const image = romImageAt(bytes, at);
    if (image === null) break;
    images.push(image);
    if (image.isLast || image.bytes === 0) break;
    at += image.bytes;
  }
  return images;
}

/** The image that begins at an offset; null where none does. */
function romImageAt(bytes: Uint8Array, offset: number): RomImage | null {
  if (offset + 0x1a > bytes.length || bytes[offset] !== 0x55 || bytes[offset + 1] !== 0xaa) return null;
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const word = (at: number): number => view.getUint16(at, true);
  const data = offset + word(offset + 0x18);
  if (data + 0x16 > bytes.length) return null;
  if (String.fromCharCode(...bytes.subarray(data, data + 4)) !== "PCIR") return null;
  const length = UNIT * word(data + 0x10);
  const codeType = view.getUint8(data + 0x14);
  const whole = offset + length <= bytes.length && length > 0;
  const hex = (value: number, digits: number): string => value.toString(16).padStart(digits, "0");
  return {
    offset,
    bytes: length,
    codeType,
    vendor: hex(word(data + 4), 4),
    device: hex(word(data + 6), 4),
    otherDevices: otherDevicesAt(view, data).map((each) => hex(each, 4)),
    class: hex((view.getUint8(data + 0x0f) << 16) | (view.getUint8(data + 0x0e) << 8) | view.getUint8(data + 0x0d), 6),
    checksum:
      codeType !== LEGACY || !whole ? null : sumOf(bytes.subarray(offset, offset + length)) === 0 ? "good" : "bad",
    isLast: (view.getUint8(data + 0x15) & LAST) !== 0,
  };
}

/** The device list of a data structure of revision 3: 16-bit ids up to a zero. */
function otherDevicesAt(view: DataView, data: number): number[] {
  const [pointer, revision] = [view.getUint16(data + 8, true), view.getUint8(data + 0x0c)];
  const found: number[] = [];
  if (revision < 3 || pointer === 0) return found;
  for (let at = data + pointer; at + 2 <= view.byteLength && found.length < MOST_OTHERS; at += 2) {
    const id = view.getUint16(at, true);
    if (id === 0) break;
    found.push(id);
  }
  return found;
}

const sumOf = (bytes: Uint8Array): number => {
  let sum = 0;
  for (const each of bytes) sum = (sum + each) & 0xff;
  return sum;
};

function problemsOf(bytes: Uint8Array, images: readonly RomImage[]): string[] {
  const problems: string[] = [];
  const last = images.at(-1);
  for (const { offset, bytes: length } of images)
    if (offset + length > bytes.length)
      problems.push(
        `The image at ${hexOffset(offset)} should have ${length} bytes, but the dump ends after ${bytes.length - offset}.`,
      );
  if (last !== undefined && !last.isLast && problems.length === 0)
    problems.push(`The image at ${hexOffset(last.offset)} says that another image follows, but there is none.`);
  const half = bytes.length / 2;
  if (images.length > 0 && half >= UNIT && Number.isInteger(half) && sameHalves(bytes, half))
    problems.push(
      "Its two halves are identical: the chip is larger than the programmer's setting, or an address line is faulty.",
    );
  return problems;
}

function sameHalves(bytes: Uint8Array, half: number): boolean {
  for (let i = 0; i < half; i++) if (bytes[i] !== bytes[half + i]) return false;
  return true;
}

export const hexOffset = (offset: number): string => `${offset.toString(16).toUpperCase().padStart(5, "0")}h`;
