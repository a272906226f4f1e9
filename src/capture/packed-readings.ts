import { deflateRawSync, inflateRawSync } from "node:zlib";
import { ampsOf, type FeedReading, type RegulationMode, voltsOf } from "../../shared/reading.ts";
import { PackedHead } from "../../shared/record/capture-form.ts";
import type { StoredReading } from "./chunk-format.ts";
import { placesOf, planesOf, wholesIn } from "./number-column.ts";

/** More readings than this never share a chunk, so that a chunk that lies about itself cannot fill the memory. */
export const MOST_PACKED = 8192;
const MOST_FEEDS = 255;
/** Of a head with so many feeds of long names, and of columns of doubles. */
const MOST_BYTES = 64 * 1024 + MOST_PACKED * 60;

const MODES: readonly RegulationMode[] = ["unknown", "cv", "cc"];
const KINDS = ["value", "overload", "no-reading"] as const;

/**
 * Readings as few bytes: column by column, each number as the difference from the one before (volts and amps of the same feed; a
 * question's time from when the last answer was taken in), all of it deflated. Comes back as the very same doubles. Null where they are too many for it.
 */
export function packReadings(readings: readonly StoredReading[]): Buffer | null {
  const n = readings.length;
  const feeds = [...new Set(readings.map(({ reading }) => reading.feed))];
  if (n === 0 || n > MOST_PACKED || feeds.length > MOST_FEEDS) return null;
  const indexOf = new Map(feeds.map((feed, index) => [feed, index]));
  const feedAt = Buffer.from(readings.map(({ reading }) => indexOf.get(reading.feed) ?? 0));
  const flags = Buffer.from(readings.map(({ reading }) => flagsOf(reading)));
  const column = (of: (each: StoredReading) => number) => Float64Array.from(readings, of);
  const at = column(({ reading }) => reading.atMs);
  const queried = column(({ reading }) => reading.queriedAtMs);
  const event = column(({ eventAtMs }) => eventAtMs);
  const volts = repeating(
    column(({ reading }) => voltsOf(reading) ?? Number.NaN),
    feedAt,
  );
  const amps = repeating(
    column(({ reading }) => ampsOf(reading) ?? Number.NaN),
    feedAt,
  );
  const times = placesOf([at, queried, event]);
  const voltsPlaces = placesOf([volts]);
  const ampsPlaces = placesOf([amps]);
  const columns = [
    numbers(at, times, (wholes) => differences(wholes, wholes, 1)),
    numbers(event, times, (wholes) => differences(wholes, wholeOf(at, times ?? 0), 0)),
    // The next question is written as soon as the last answer was taken in.
    numbers(queried, times, (wholes) => differences(wholes, wholeOf(event, times ?? 0), 1)),
    numbers(volts, voltsPlaces, (wholes) => inFeeds(wholes, feedAt, feeds.length)),
    numbers(amps, ampsPlaces, (wholes) => inFeeds(wholes, feedAt, feeds.length)),
  ];
  const head: PackedHead = {
    feeds,
    times,
    volts: voltsPlaces,
    amps: ampsPlaces,
    widths: columns.map(({ width }) => width) as PackedHead["widths"],
  };
  const text = Buffer.from(`${JSON.stringify(head)}\n`);
  return deflateRawSync(Buffer.concat([text, feedAt, flags, ...columns.map(({ bytes }) => bytes)]));
}

/** The columns of some readings, one place a reading. */
export interface ReadingColumns {
  feeds: readonly string[];
  /** Which of the feeds. */
  feedAt: Uint8Array;
  flags: Uint8Array;
  atMs: Float64Array;
  queriedAtMs: Float64Array;
  eventAtMs: Float64Array;
  /** NaN where there was no number. */
  volts: Float64Array;
  amps: Float64Array;
}

/** The columns that a picture is drawn from. */
export type FigureColumns = Omit<ReadingColumns, "queriedAtMs" | "eventAtMs">;

/** The `n` readings that `packReadings` made these bytes of, as columns. Throws where they are no such thing. */
export function unpackColumns(packed: Buffer, n: number): ReadingColumns {
  const { head, parts, figures } = opened(packed, n);
  const more = (others: Float64Array, before: number) => (wholes: Float64Array) => {
    for (let i = 0; i < n; i++) wholes[i] = (wholes[i] ?? 0) + (others[i - before] ?? 0);
  };
  // Sums are of whole numbers, so the places come last.
  const at = wholesOf(parts[0], n, head.times, summed);
  const event = wholesOf(parts[1], n, head.times, more(at, 0));
  const queried = wholesOf(parts[2], n, head.times, more(event, 1));
  inPlaces(event, head.times);
  inPlaces(queried, head.times);
  return { ...figures, queriedAtMs: queried, eventAtMs: event };
}

/** As `unpackColumns`, without the times that only a replay asks for. */
export const unpackFigures = (packed: Buffer, n: number): FigureColumns => opened(packed, n).figures;

function opened(packed: Buffer, n: number): { head: PackedHead; parts: Buffer[]; figures: FigureColumns } {
  if (n > MOST_PACKED) throw new RangeError(`${n} readings are more than one chunk holds`);
  const bytes = inflateRawSync(packed, { maxOutputLength: MOST_BYTES });
  const lineEnd = bytes.indexOf(10);
  const head = PackedHead.parse(JSON.parse(bytes.toString("utf8", 0, lineEnd)));
  let from = lineEnd + 1;
  const part = (length: number): Buffer => {
    from += length;
    if (from > bytes.length) throw new RangeError("a chunk ends inside a column");
    return bytes.subarray(from - length, from);
  };
  const feedAt = part(n);
  const flags = part(n);
  for (let i = 0; i < n; i++) {
    const bits = flags[i] ?? 0;
    if ((feedAt[i] ?? 0) >= head.feeds.length || (bits & 3) === 3 || (bits & 12) === 12 || (bits & 48) === 48)
      throw new RangeError("a reading of a chunk has no such feed or kind");
  }
  const parts = head.widths.map((width) => part(n * width));
  const ofFeeds = (wholes: Float64Array) => summedInFeeds(wholes, feedAt, head.feeds.length);
  const atMs = wholesOf(parts[0], n, head.times, summed);
  const volts = wholesOf(parts[3], n, head.volts, ofFeeds);
  const amps = wholesOf(parts[4], n, head.amps, ofFeeds);
  inPlaces(atMs, head.times);
  inPlaces(volts, head.volts);
  inPlaces(amps, head.amps);
  for (let i = 0; i < n; i++) {
    const bits = flags[i] ?? 0;
    if ((bits & 12) !== 0) volts[i] = Number.NaN;
    if ((bits & 48) !== 0) amps[i] = Number.NaN;
  }
  return { head, parts, figures: { feeds: head.feeds, feedAt, flags, atMs, volts, amps } };
}

/** A column as whole numbers of its place, or as the doubles that it is of. */
function wholesOf(
  own: Buffer | undefined,
  n: number,
  places: number | null,
  undo: (wholes: Float64Array) => void,
): Float64Array {
  if (own === undefined) throw new RangeError("a chunk lacks a column");
  if (places === null) return doublesIn(own, n);
  const wholes = wholesIn(own, own.length / Math.max(1, n), n);
  undo(wholes);
  return wholes;
}

/** The readings of some columns, as they were before they were packed. */
export const readingsOfColumns = (columns: ReadingColumns): StoredReading[] =>
  Array.from(columns.feedAt, (feedAt, i) => {
    const bits = columns.flags[i] ?? 0;
    const [voltsKind, ampsKind] = [KINDS[(bits >> 2) & 3] ?? "no-reading", KINDS[(bits >> 4) & 3] ?? "no-reading"];
    return {
      reading: {
        feed: columns.feeds[feedAt] ?? "",
        queriedAtMs: columns.queriedAtMs[i] ?? 0,
        atMs: columns.atMs[i] ?? 0,
        volts: voltsKind === "value" ? { kind: voltsKind, volts: columns.volts[i] ?? 0 } : { kind: voltsKind },
        amps: ampsKind === "value" ? { kind: ampsKind, amps: columns.amps[i] ?? 0 } : { kind: ampsKind },
        mode: MODES[bits & 3] ?? "unknown",
        together: (bits & 64) !== 0,
      },
      eventAtMs: columns.eventAtMs[i] ?? 0,
    };
  });

const flagsOf = ({ mode, volts, amps, together }: FeedReading): number =>
  MODES.indexOf(mode) | (KINDS.indexOf(volts.kind) << 2) | (KINDS.indexOf(amps.kind) << 4) | (together ? 64 : 0);

/** A place without a number repeats the last one of the feed, which costs nothing. */
function repeating(values: Float64Array, feedAt: Buffer): Float64Array {
  const last = new Map<number, number>();
  return values.map((value, i) => {
    const feed = feedAt[i] ?? 0;
    if (Number.isNaN(value)) return last.get(feed) ?? 0;
    last.set(feed, value);
    return value;
  });
}

/** A column as bytes: whole numbers of a decimal place as what `difference` makes of them, else doubles. */
function numbers(
  values: Float64Array,
  places: number | null,
  difference: (wholes: Float64Array) => Float64Array,
): { width: number; bytes: Buffer } {
  if (places !== null) return planesOf(difference(wholeOf(values, places)));
  const bytes = Buffer.from(values.buffer, values.byteOffset, values.byteLength);
  const n = values.length;
  const planes = Buffer.alloc(8 * n);
  for (let i = 0; i < 8 * n; i++) planes[(i % 8) * n + Math.trunc(i / 8)] = bytes[i] ?? 0;
  return { width: 8, bytes: planes };
}

function doublesIn(planes: Buffer, n: number): Float64Array {
  const values = new Float64Array(n);
  const bytes = Buffer.from(values.buffer);
  for (let i = 0; i < 8 * n; i++) bytes[i] = planes[(i % 8) * n + Math.trunc(i / 8)] ?? 0;
  return values;
}

const wholeOf = (values: Float64Array, places: number): Float64Array =>
  values.map((value) => Math.round(value * 10 ** places));

/** The difference of each number from another, of the same place or so many before it. */
const differences = (wholes: Float64Array, others: Float64Array, before: number): Float64Array =>
  wholes.map((value, i) => value - (others[i - before] ?? 0));

/** Differences from the one before of the same feed. */
function inFeeds(wholes: Float64Array, feedAt: Buffer, feeds: number): Float64Array {
  const last = new Float64Array(feeds);
  return wholes.map((value, i) => {
    const feed = feedAt[i] ?? 0;
    const difference = value - (last[feed] ?? 0);
    last[feed] = value;
    return difference;
  });
}

function inPlaces(wholes: Float64Array, places: number | null): void {
  if (places === null || places === 0) return;
  const scale = 10 ** places;
  for (let i = 0; i < wholes.length; i++) wholes[i] = (wholes[i] ?? 0) / scale;
}

function summed(differences: Float64Array): void {
  for (let i = 1; i < differences.length; i++) differences[i] = (differences[i] ?? 0) + (differences[i - 1] ?? 0);
}

function summedInFeeds(differences: Float64Array, feedAt: Buffer, feeds: number): void {
  const last = new Float64Array(feeds);
  for (let i = 0; i < differences.length; i++) {
    const feed = feedAt[i] ?? 0;
    const value = (last[feed] ?? 0) + (differences[i] ?? 0);
    last[feed] = value;
    differences[i] = value;
  }
}
