import { expect, test } from "vitest";
import type { BoardHost } from "../../shared/files/board-file.ts";
import { firmwareImageOf } from "../../src/verdict/firmware/expansion-rom.ts";
import { firmwareVerdict } from "../../src/verdict/firmware/firmware-verdict.ts";

interface Rom {
  vendor?: number;
  device?: number;
  units?: number;
  codeType?: number;
  last?: boolean;
  others?: number[];
}

/**
 * An image by the tables of the PCI Firmware Specification 3.3: header 5.1.1 (55 AA, pointer at 18h), data structure 5.1.2 (PCIR,
 * vendor 04h, device 06h, device list 08h, revision 0Ch, class 0Dh, length 10h, code type 14h, indicator 15h).
 */
function rom({
  vendor = 0x1234,
  device = 0x1111,
  units = 4,
  codeType = 0,
  last = true,
  others = [],
}: Rom = {}): Uint8Array {
  const bytes = new Uint8Array(512 * units);
  for (let i = 0x60; i < bytes.length; i++) bytes[i] = (i * 7) & 0xff;
  const view = new DataView(bytes.buffer);
  bytes.set([0x55, 0xaa, units], 0);
  view.setUint16(0x18, 0x1c, true);
  bytes.set(new TextEncoder().encode("PCIR"), 0x1c);
  view.setUint16(0x20, vendor, true);
  view.setUint16(0x22, device, true);
  view.setUint16(0x24, others.length > 0 ? 0x1c : 0, true);
  view.setUint8(0x28, 3);
  bytes.set([0x00, 0x00, 0x03], 0x29);
  view.setUint16(0x2c, units, true);
  view.setUint8(0x30, codeType);
  view.setUint8(0x31, last ? 0x80 : 0);
  for (const [index, each] of [...others, 0].entries())
    if (others.length > 0) view.setUint16(0x38 + 2 * index, each, true);
  let sum = 0;
  for (const each of bytes) sum += each;
  bytes[bytes.length - 1] = ((bytes.at(-1) ?? 0) - sum) & 0xff;
  return bytes;
}

const host: BoardHost = { ids: ["1234:1111"] };
const judged = (bytes: Uint8Array, known: Partial<Parameters<typeof firmwareVerdict>[0]> = {}) =>
  firmwareVerdict({ bytes, image: firmwareImageOf(bytes), sameBoard: [], good: [], host, ...known });
const changed = (bytes: Uint8Array, at: number, to: number[]): Uint8Array => {
  const copy = bytes.slice();
  copy.set(to, at);
  return copy;
};
/** Two bytes changed so that the sum stays as it was. */
const swapped = (bytes: Uint8Array, at: number): Uint8Array =>
  changed(bytes, at, [((bytes[at] ?? 0) + 9) & 0xff, ((bytes[at + 1] ?? 0) - 9) & 0xff]);

test("the fields of a header built by the standard's tables come back", () => {
  expect(firmwareImageOf(rom({ others: [0x1112, 0x1113] }))).toEqual({
    bytes: 2048,
    blank: null,
    images: [
      {
        offset: 0,
        bytes: 2048,
        codeType: 0,
        vendor: "1234",
        device: "1111",
        otherDevices: ["1112", "1113"],
        class: "030000",
        checksum: "good",
        isLast: true,
      },
    ],
    problems: [],
  });
});

test("a legacy and an EFI image follow each other, behind a header of the chip's maker", () => {
  const bytes = new Uint8Array([...new Uint8Array(1024).fill(0x5a), ...rom({ last: false }), ...rom({ codeType: 3 })]);
  expect(firmwareImageOf(bytes).images).toMatchObject([
    { offset: 1024, codeType: 0, checksum: "good", isLast: false },
    { offset: 3072, codeType: 3, checksum: null, isLast: true },
  ]);
});

test("blank, cut short, doubled, a flipped bit and another board's are told apart", () => {
  expect(judged(new Uint8Array(65_536).fill(0xff)).word).toBe("blank");
  expect(judged(rom().subarray(0, 1500)).word).toBe("cut-short");
  expect(judged(changed(rom(), 700, [1])).word).toBe("bad-checksum");
  expect(judged(rom({ device: 0x2222 })).word).toBe("another-boards");
  expect(judged(rom({ device: 0x2222, others: [0x1111] })).word).toBe("well-formed");
  expect(judged(new Uint8Array(2048).fill(0x5a)).word).toBe("no-image");
  const doubled = new Uint8Array([...rom(), ...rom()]);
  expect(judged(doubled).because.join()).toContain("two halves are identical");
});

test("two dumps of one board that differ are a contact of the programmer, before anything else is said", () => {
  const verdict = judged(rom(), { sameBoard: [changed(rom(), 900, [0xff, 0xff, 0xff])] });
  expect(verdict).toMatchObject({ word: "reads-differ", regions: [{ offset: 900 }] });
});

test("a dump that is the beginning of another one of the same board was read with the wrong size, and the longer one stands", () => {
  const whole = Uint8Array.from({ length: 8192 }, (_, i) => (i * 7 + (i >> 8)) & 0xff);
  const half = whole.subarray(0, 4096);
  const judged = (bytes: Uint8Array, other: Uint8Array) =>
    firmwareVerdict({ bytes, image: firmwareImageOf(bytes), sameBoard: [other], good: [whole], host: null });
  expect(judged(half, whole)).toMatchObject({ word: "cut-short", because: [expect.stringContaining("8192 bytes")] });
  expect(judged(whole, half).word).toBe("as-good-boards");
});

test("against good boards: identical, different where they differ too, and different elsewhere", () => {
  const [one, other] = [rom(), swapped(rom(), 600)];
  expect(judged(rom(), { good: [one, other] }).word).toBe("as-good-boards");
  const serial = swapped(swapped(rom(), 600), 600);
  expect(judged(serial, { good: [one, other] })).toMatchObject({
    word: "as-good-boards",
    regions: [{ offset: 600, bytes: 2, variesOnGood: true }],
  });
  const corrupt = swapped(rom(), 1200);
  expect(judged(corrupt, { good: [one, other] })).toMatchObject({
    word: "differs",
    regions: [{ offset: 1200, bytes: 2, variesOnGood: false }],
  });
  expect(judged(corrupt, { good: [one] })).toMatchObject({ word: "differs", regions: [{ variesOnGood: null }] });
});

test("no bytes at all, and every cut of an image, are answered without an error", () => {
  const whole = rom({ others: [0x1112] });
  for (let n = 0; n <= whole.length; n += 13) expect(firmwareImageOf(whole.subarray(0, n)).bytes).toBe(n);
});
