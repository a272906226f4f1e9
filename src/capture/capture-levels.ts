import { crc32 } from "node:zlib";
import { LevelsHead } from "../../shared/record/capture-form.ts";
import { type Summary, summaryOf, takeInto, type ValueSummary } from "./capture-summary.ts";
import type { StoredReading } from "./chunk-format.ts";

/** So many readings make a block. */
export const BLOCK_READINGS = 4096;
/** Readings of each feed in a bucket, the finest level above the readings themselves, where all feeds are read alike. */
const BUCKET_READINGS = 128;
/** Numbers of a bucket: from, to, n, then n, least, most and sum of the volts, and of the amps. */
const CELLS = 11;
const MARK = "levels ";

/** Some thousand readings of a capture, with what they have in common: as a whole, and in buckets. */
export interface LevelBlock {
  from: number;
  end: number;
  seq: number;
  through: number;
  n: number;
  fromMs: number;
  toMs: number;
  /** The length of a bucket, about, milliseconds. */
  bucketMs: number;
  /** Bytes of it in the levels file. */
  bytes: number;
  /** The whole of each feed, and its buckets; null where they are damaged. Made when they are asked for. */
  feeds(): FeedLevels[] | null;
}

export interface FeedLevels {
  feed: string;
  total: Summary;
  buckets(): Generator<Summary>;
}

/**
 * A block as it is kept: a line of JSON, padded to eight bytes, then for each feed its total and its buckets as doubles of this
 * machine's byte order (which is the same on every machine that Node runs on).
 */
export function blockBytes(
  capture: string,
  place: { from: number; end: number },
  of: { seq: number; through: number },
  readings: readonly StoredReading[],
): Buffer {
  const feeds = new Map<string, { bucket: number; buckets: Summary[] }>();
  for (const { reading } of readings)
    if (!feeds.has(reading.feed)) feeds.set(reading.feed, { bucket: -1, buckets: [] });
  readings.forEach(({ reading }, index) => {
    const own = feeds.get(reading.feed);
    if (own === undefined) return;
    const bucket = Math.trunc(index / (BUCKET_READINGS * feeds.size));
    const last = own.buckets.at(-1);
    if (own.bucket === bucket && last !== undefined) takeInto(last, summaryOf(reading));
    else own.buckets.push(summaryOf(reading));
    own.bucket = bucket;
  });
  const cells = [...feeds.values()].flatMap(({ buckets }) => [totalOf(buckets), ...buckets].flatMap(cellsOf));
  const values = Buffer.from(Float64Array.from(cells).buffer);
  const times = readings.map(({ reading }) => reading.atMs);
  const head: LevelsHead = {
    capture,
    ...place,
    seq: of.seq,
    through: of.through,
    n: readings.length,
    fromMs: times[0] ?? 0,
    toMs: times.at(-1) ?? 0,
    feeds: [...feeds].map(([feed, { buckets }]) => ({ feed, buckets: buckets.length })),
    crc32: crc32(values),
  };
  const line = `${MARK}${JSON.stringify(head)}`;
  const padding = (8 - ((Buffer.byteLength(line) + 1) % 8)) % 8;
  return Buffer.concat([Buffer.from(`${line}${" ".repeat(padding)}\n`), values]);
}

/** The blocks in the bytes of a levels file, up to the first that is torn or is no block: what comes after it is made again. */
export function levelBlocks(bytes: Buffer, capture: string): LevelBlock[] {
  const blocks: LevelBlock[] = [];
  for (let offset = 0; offset < bytes.length; ) {
    const lineEnd = bytes.indexOf(10, offset);
    const head = lineEnd < 0 ? null : headOf(bytes.toString("utf8", offset, lineEnd));
    if (head === null || head.capture !== capture || head.from !== (blocks.at(-1)?.end ?? 0)) break;
    const begins = lineEnd + 1;
    const ends = begins + 8 * CELLS * head.feeds.reduce((sum, { buckets }) => sum + buckets + 1, 0);
    if (ends > bytes.length) break;
    const { from, end, seq, through, n, fromMs, toMs } = head;
    blocks.push({
      ...{ from, end, seq, through, n, fromMs, toMs },
      bucketMs: ((toMs - fromMs) * BUCKET_READINGS * head.feeds.length) / n,
      bytes: ends - offset,
      feeds: () => feedLevels(head, bytes.subarray(begins, ends)),
    });
    offset = ends;
  }
  return blocks;
}

function feedLevels(head: LevelsHead, own: Buffer): FeedLevels[] | null {
  if (crc32(own) !== head.crc32) return null;
  const values = new Float64Array(own.buffer.slice(own.byteOffset, own.byteOffset + own.length));
  let next = 0;
  return head.feeds.map(({ feed, buckets }) => {
    const first = next;
    next += (buckets + 1) * CELLS;
    return {
      feed,
      total: summaryAt(values, first),
      *buckets() {
        for (let each = 1; each <= buckets; each++) yield summaryAt(values, first + each * CELLS);
      },
    };
  });
}

function headOf(line: string): LevelsHead | null {
  if (!line.startsWith(MARK)) return null;
  try {
    return LevelsHead.safeParse(JSON.parse(line.slice(MARK.length))).data ?? null;
  } catch {
    return null;
  }
}

function totalOf(buckets: readonly Summary[]): Summary {
  const [first, ...rest] = buckets;
  if (first === undefined) throw new RangeError("a feed without readings has no total");
  const total = { ...first, volts: { ...first.volts }, amps: { ...first.amps } };
  for (const each of rest) takeInto(total, each);
  return total;
}

const cellsOf = ({ fromMs, toMs, n, volts, amps }: Summary): number[] => [
  fromMs,
  toMs,
  n,
  ...[volts, amps].flatMap((each) => [each.n, each.least, each.most, each.sum]),
];

function summaryAt(cells: Float64Array, at: number): Summary {
  const cell = (index: number): number => cells[at + index] ?? Number.NaN;
  const values = (index: number): ValueSummary => ({
    n: cell(index),
    least: cell(index + 1),
    most: cell(index + 2),
    sum: cell(index + 3),
  });
  return { fromMs: cell(0), toMs: cell(1), n: cell(2), volts: values(3), amps: values(7) };
}
