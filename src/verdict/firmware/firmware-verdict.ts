import type { BoardHost } from "../../../shared/files/board-file.ts";
import type { FirmwareImage, FirmwareVerdict, FirmwareWord } from "../../../shared/record/firmware-image.ts";
import { compareImages } from "./compare-images.ts";
import { hexOffset } from "./expansion-rom.ts";

const SHOWN_REGIONS = 5;

/**
 * The meaning of a dump for the board: its own structure first, then other dumps of the same board, the ids its kind should have, and
 * the images of boards of its kind that passed.
 */
export function firmwareVerdict(of: {
  bytes: Uint8Array;
  image: FirmwareImage;
  /** Other dumps of the same board, taken since its firmware was last changed. */
  sameBoard: readonly Uint8Array[];
  good: readonly Uint8Array[];
  host: BoardHost | null;
}): FirmwareVerdict {
  const { bytes, image, sameBoard, good, host } = of;
  const says = (word: FirmwareWord, ...because: string[]): FirmwareVerdict => ({
    word,
    because: [...because, ...image.problems],
    comparedWith: good.length,
    regions: [],
  });
  // A dump of the wrong length contradicts no byte of the other.
  const others = sameBoard.filter((each) => !isBeginning(each, bytes));
  const longer = others.find((each) => isBeginning(bytes, each));
  if (longer !== undefined)
    return says(
      "cut-short",
      `Another dump of this board has ${longer.length} bytes, and begins with the ${bytes.length} of this one: this one was read with the wrong size.`,
    );
  const reads = others.map((each) => compareImages(bytes, [each])).find((each) => each.differing > 0);
  if (reads !== undefined)
    return {
      ...says(
        "reads-differ",
        `Two dumps of this board differ in ${reads.differing} bytes, ${placesOf(reads.regions)}. This is a contact of the programmer, not the firmware. Read it again until two dumps are identical.`,
      ),
      regions: reads.regions,
    };
  if (image.blank !== null)
    return says("blank", `Every byte is ${image.blank.toUpperCase()}: the chip is empty, or it was not read.`);
  if (image.images.length === 0 && good.length === 0)
    return says("no-image", "It holds no expansion ROM, and no image of a good board of this kind is filed.");
  if (image.problems.some((each) => each.includes("the dump ends"))) return says("cut-short", "The dump is not whole.");
  const bad = image.images.find((each) => each.checksum === "bad");
  if (bad !== undefined)
    return says("bad-checksum", `The image at ${hexOffset(bad.offset)} does not sum to 0: at least one byte is wrong.`);
  const wrong = wrongIds(image, host);
  if (wrong !== null) return says("another-boards", wrong);
  if (good.length === 0)
    return says("well-formed", "Its structure is correct, but no good board's image is filed for comparison.");
  return compared(says, bytes, good);
}

const isBeginning = (short: Uint8Array, long: Uint8Array): boolean =>
  short.length < long.length && short.every((byte, index) => byte === long[index]);

function wrongIds({ images }: FirmwareImage, host: BoardHost | null): string | null {
  if (host === null || images.length === 0) return null;
  const wanted = new Set([...host.ids, ...(host.bareIds ?? [])]);
  const has = images.flatMap((each) => [each.device, ...each.otherDevices].map((device) => `${each.vendor}:${device}`));
  if (has.some((each) => wanted.has(each))) return null;
  return `It is for ${[...new Set(has)].slice(0, SHOWN_REGIONS).join(", ")}; this kind of board is ${host.ids.join(" or ")}.`;
}

function compared(
  says: (word: FirmwareWord, ...because: string[]) => FirmwareVerdict,
  bytes: Uint8Array,
  good: readonly Uint8Array[],
): FirmwareVerdict {
  const { regions, differing } = compareImages(bytes, good);
  const boards = good.length === 1 ? "one good board" : `${good.length} good boards`;
  if (differing === 0) return says("as-good-boards", `It is identical to the image of a good board (${boards}).`);
  const strange = regions.filter((each) => each.variesOnGood !== true);
  if (strange.length === 0)
    return {
      ...says(
        "as-good-boards",
        `It differs from good boards only ${placesOf(regions)}, where good boards also differ (${boards}).`,
      ),
      regions,
    };
  const known = good.length > 1 ? "" : "; with one good image it is not known which bytes differ from board to board";
  return {
    ...says("differs", `It differs from the most similar good image ${placesOf(strange)} (${boards})${known}.`),
    regions,
  };
}

function placesOf(regions: readonly { offset: number; bytes: number }[]): string {
  const shown = regions.slice(0, SHOWN_REGIONS).map(({ offset, bytes }) => `${bytes} at ${hexOffset(offset)}`);
  const more = regions.length - shown.length;
  return `in ${shown.join(", ")}${more > 0 ? ` and ${more} more regions` : ""}`;
}
