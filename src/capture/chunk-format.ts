import { crc32 } from "node:zlib";
import type { AmpsReading, FeedReading, RegulationMode, VoltsReading } from "../../shared/reading.ts";

/** First line of a chunk: what follows, how long it is and the sum that proves it. */
export interface ChunkHead {
  capture: string;
  seq: number;
  /** `atMs` of the first reading; null for the closing chunk, which has none. */
  t0: number | null;
  n: number;
  bytes: number;
  crc32: number;
  closed: boolean;
  /** A chunk of packed readings stands for those of several numbers, `seq` to `through`. */
  packed?: true;
  through?: number;
}

/** A reading and when the run that asked for it took it in, which replaying the run needs. */
export interface StoredReading {
  reading: FeedReading;
  eventAtMs: number;
}

export const CHUNK_MARK = "chunk ";

/**
 * A chunk as bytes: `chunk {head}`, the readings as one line of JSON, each line ended by LF. With `through` it stands for all
 * numbers from `seq` to that one.
 */
export function chunkBytes(
  capture: string,
  seq: number,
  readings: readonly StoredReading[],
  closed: boolean,
  through = seq,
): Buffer {
  const payload = Buffer.from(`${JSON.stringify(readings.map(cells))}\n`);
  return withHead(
    { capture, seq, n: readings.length, closed, ...(through === seq ? {} : { through }) },
    readings,
    payload,
  );
}

/**
 * The readings of the chunks `seq` to `through` as one chunk, with the payload that `packReadings` made of them; it is many times
 * smaller.
 */
export function packedChunkBytes(
  of: { capture: string; seq: number; through: number },
  readings: readonly StoredReading[],
  packed: Buffer,
): Buffer {
  return withHead({ ...of, n: readings.length, closed: false, packed: true }, readings, packed);
}

function withHead(
  of: Omit<ChunkHead, "t0" | "bytes" | "crc32">,
  readings: readonly StoredReading[],
  payload: Buffer,
): Buffer {
  const { capture, seq, n, closed, ...packed } = of;
  const head: ChunkHead = {
    capture,
    seq,
    t0: readings[0]?.reading.atMs ?? null,
    n,
    bytes: payload.length,
    crc32: chunkSum(capture, seq, payload),
    closed,
    ...packed,
  };
  return Buffer.concat([Buffer.from(`${CHUNK_MARK}${JSON.stringify(head)}\n`), payload]);
}

/** The sum covers whose chunk it is and which, so a block of another capture never passes for this one's. */
export const chunkSum = (capture: string, seq: number, payload: Uint8Array): number =>
  crc32(payload, crc32(`${capture} ${seq} `));

type Cells = [string, number, number, number | string, number | string, RegulationMode, 0 | 1, number];

function cells({ reading, eventAtMs }: StoredReading): Cells {
  const { feed, queriedAtMs, atMs, volts, amps, mode, together } = reading;
  return [
    feed,
    queriedAtMs,
    atMs,
    volts.kind === "value" ? volts.volts : volts.kind,
    amps.kind === "value" ? amps.amps : amps.kind,
    mode,
    together ? 1 : 0,
    eventAtMs,
  ];
}

/** The readings of a payload whose sum was right. */
export function readingsOf(payload: Buffer): StoredReading[] {
  return (JSON.parse(payload.toString()) as Cells[]).map(
    ([feed, queriedAtMs, atMs, volts, amps, mode, together, eventAtMs]) => ({
      reading: {
        feed,
        queriedAtMs,
        atMs,
        volts: typeof volts === "number" ? { kind: "value", volts } : ({ kind: volts } as VoltsReading),
        amps: typeof amps === "number" ? { kind: "value", amps } : ({ kind: amps } as AmpsReading),
        mode,
        together: together === 1,
      },
      eventAtMs,
    }),
  );
}
