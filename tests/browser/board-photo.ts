import { crc32, deflateSync } from "node:zlib";

const [WIDE, HIGH] = [480, 270];
/** Parts of the drawn board: left, top, width, height as shares, and their grey. */
const PARTS: [number, number, number, number, number][] = [
  [0.34, 0.44, 0.16, 0.28, 60],
  [0.56, 0.3, 0.12, 0.18, 40],
  [0.72, 0.3, 0.12, 0.18, 40],
  [0.12, 0.2, 0.05, 0.6, 200],
  [0.22, 0.3, 0.06, 0.1, 90],
  [0.22, 0.5, 0.06, 0.1, 90],
  [0.1, 0.92, 0.7, 0.05, 210],
];

/** A drawn board as a PNG (ISO/IEC 15948): a chip, memory, chokes and an edge connector on a dark ground. */
export function boardPhoto(): Buffer {
  const rows = Buffer.alloc((WIDE * 3 + 1) * HIGH);
  for (let y = 0; y < HIGH; y++) {
    for (let x = 0; x < WIDE; x++) {
      const part = PARTS.find(
        ([left, top, width, height]) =>
          x / WIDE >= left && x / WIDE < left + width && y / HIGH >= top && y / HIGH < top + height,
      );
      const colour = part === undefined ? [18, 62 + ((x >> 3) % 3) * 4, 44] : [part[4], part[4], part[4] + 8];
      rows.set(colour, y * (WIDE * 3 + 1) + 1 + x * 3);
    }
  }
  const head = Buffer.alloc(13);
  head.writeUInt32BE(WIDE, 0);
  head.writeUInt32BE(HIGH, 4);
  head.set([8, 2, 0, 0, 0], 8);
  return Buffer.concat([
    Buffer.from("89504e470d0a1a0a", "hex"),
    chunk("IHDR", head),
    chunk("IDAT", deflateSync(rows)),
    chunk("IEND", Buffer.alloc(0)),
  ]);
}

function chunk(name: string, data: Buffer): Buffer {
  const body = Buffer.concat([Buffer.from(name, "latin1"), data]);
  const [length, sum] = [Buffer.alloc(4), Buffer.alloc(4)];
  length.writeUInt32BE(data.length);
  sum.writeUInt32BE(crc32(body));
  return Buffer.concat([length, body, sum]);
}
