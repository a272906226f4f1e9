import { z } from "zod";

const whole = z.number().int().min(0);
const id = z.string().regex(/^[0-9a-f]{4}$/);

/** One image of an expansion ROM. */
export const RomImage = z.strictObject({
  offset: whole,
  bytes: whole,
  /** 0: PC-AT, 3: EFI; others as the specification numbers them. */
  codeType: whole,
  vendor: id,
  device: id,
  /** Further devices it is for. */
  otherDevices: z.array(id).max(500),
  class: z.string().regex(/^[0-9a-f]{6}$/),
  /** The sum of a legacy image over all its bytes is 0 mod 256; null where none is asked for, or a part is missing. */
  checksum: z.enum(["good", "bad"]).nullable(),
  isLast: z.boolean(),
});
export type RomImage = z.infer<typeof RomImage>;

/** The content of a dump of a memory chip. */
export const FirmwareImage = z.strictObject({
  bytes: whole,
  /** Every byte is this; null where they differ. */
  blank: z.enum(["ff", "00"]).nullable(),
  images: z.array(RomImage).max(64),
  /** The faults of the image by itself, in sentences. */
  problems: z.array(z.string()),
});
export type FirmwareImage = z.infer<typeof FirmwareImage>;

/** Bytes that differ from a good board's: from `offset`, so many. */
export const FirmwareRegion = z.strictObject({
  offset: whole,
  bytes: whole,
  /** Whether good boards differ there among each other; null where only one is known. */
  variesOnGood: z.boolean().nullable(),
});
export type FirmwareRegion = z.infer<typeof FirmwareRegion>;

export const FirmwareWord = z.enum([
  "blank",
  "no-image",
  "reads-differ",
  "cut-short",
  "bad-checksum",
  "another-boards",
  "differs",
  "as-good-boards",
  "well-formed",
]);
export type FirmwareWord = z.infer<typeof FirmwareWord>;

export const FirmwareVerdict = z.strictObject({
  word: FirmwareWord,
  because: z.array(z.string()),
  /** With how many images of good boards it was compared. */
  comparedWith: whole,
  /** The places where it differs from the good one nearest to it; at most 200. */
  regions: z.array(FirmwareRegion).max(200),
});
export type FirmwareVerdict = z.infer<typeof FirmwareVerdict>;
