import { readFileSync } from "node:fs";
import { expect, test } from "vitest";
import { firmwareImageOf } from "../../src/verdict/firmware/expansion-rom.ts";
import { firmwareVerdict } from "../../src/verdict/firmware/firmware-verdict.ts";

// Option ROMs of an open-source network boot program, as Debian's package ipxe-qemu carries them. The ids are those that QEMU's
// documentation and pci.ids give its emulated cards.
const rom = (name: string): Uint8Array => readFileSync(`/usr/lib/ipxe/qemu/${name}.rom`);

test.each([
  ["e1000", "8086", "100e"],
  ["e1000e", "8086", "10d3"],
  ["rtl8139", "10ec", "8139"],
  ["virtio", "1af4", "1041"],
  ["vmxnet3", "15ad", "07b0"],
])("the legacy image for %s is whole, sums to zero and is for %s:%s", (name, vendor, device) => {
  const bytes = rom(`pxe-${name}`);
  expect(firmwareImageOf(bytes)).toMatchObject({
    bytes: bytes.length,
    images: [
      { offset: 0, bytes: bytes.length, codeType: 0, vendor, device, class: "020000", checksum: "good", isLast: true },
    ],
    problems: [],
  });
});

test("an image for both kinds of host holds a legacy image and an EFI image behind it", () => {
  const bytes = rom("efi-e1000");
  const { images, problems } = firmwareImageOf(bytes);
  expect(images).toMatchObject([
    { codeType: 0, device: "100e", isLast: false },
    { codeType: 3, device: "100e", isLast: true },
  ]);
  expect(images.reduce((sum, each) => sum + each.bytes, 0)).toBe(bytes.length);
  expect(problems).toEqual([]);
});

test("one of them on a board that wants another is another board's; a byte changed, its sum is bad; cut, it is cut short", () => {
  const bytes = rom("pxe-e1000");
  const judged = (dump: Uint8Array, ids: string[]) =>
    firmwareVerdict({ bytes: dump, image: firmwareImageOf(dump), sameBoard: [], good: [], host: { ids } }).word;
  expect(judged(bytes, ["8086:100e"])).toBe("well-formed");
  expect(judged(bytes, ["10ec:8139"])).toBe("another-boards");
  const flipped = bytes.slice();
  flipped[40_000] = (flipped[40_000] ?? 0) ^ 0x10;
  expect(judged(flipped, ["8086:100e"])).toBe("bad-checksum");
  expect(judged(bytes.subarray(0, 32_768), ["8086:100e"])).toBe("cut-short");
});
