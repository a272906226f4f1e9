import fc from "fast-check";
import { describe, expect, it } from "vitest";
import type { FeedReading } from "../../shared/reading.ts";
import type { StoredReading } from "../../src/capture/chunk-format.ts";
import { MOST_PACKED, packReadings, readingsOfColumns, unpackColumns } from "../../src/capture/packed-readings.ts";

const back = (readings: readonly StoredReading[]): StoredReading[] => {
  const packed = packReadings(readings);
  if (packed === null) throw new Error("not packed");
  return readingsOfColumns(unpackColumns(packed, readings.length));
};

/** What an instrument says, and what it may say: steps of a millivolt, any double, minus zero, no number. */
const number = fc.oneof(
  fc.integer({ min: -20_000, max: 20_000 }).map((millis) => millis / 1000),
  fc.double({ noNaN: true, noDefaultInfinity: true }),
  fc.constant(-0),
);
const time = fc.oneof(
  fc.integer({ min: 0, max: 8_640_000_000 }).map((hundredths) => hundredths / 100),
  fc.double({ min: 0, max: 1e9, noNaN: true }),
);
const reading = fc.record({
  feed: fc.constantFrom("aux", "slot12", "slot3v3", "ünnamed\n"),
  queriedAtMs: time,
  atMs: time,
  volts: fc.oneof(
    number.map((volts) => ({ kind: "value" as const, volts })),
    fc.constantFrom({ kind: "overload" as const }, { kind: "no-reading" as const }),
  ),
  amps: fc.oneof(
    number.map((amps) => ({ kind: "value" as const, amps })),
    fc.constantFrom({ kind: "overload" as const }, { kind: "no-reading" as const }),
  ),
  mode: fc.constantFrom("cv" as const, "cc" as const, "unknown" as const),
  together: fc.boolean(),
});

describe("packed readings", () => {
  it("come back as the very same doubles, whatever they are", () => {
    fc.assert(
      fc.property(fc.array(fc.record({ reading, eventAtMs: time }), { minLength: 1, maxLength: 60 }), (readings) => {
        back(readings).forEach((each, index) => {
          const before = readings[index];
          expect(each).toEqual(before);
          const [is, was] = [each.reading.volts, before?.reading.volts];
          if (is.kind === "value" && was?.kind === "value") expect(Object.is(is.volts, was.volts)).toBe(true);
        });
      }),
      { numRuns: 400 },
    );
  });

  it("of many feeds or in great number are not packed", () => {
    const one = (feed: string): StoredReading => ({
      eventAtMs: 1,
      reading: {
        feed,
        queriedAtMs: 0,
        atMs: 1,
        volts: { kind: "value", volts: 12 },
        amps: { kind: "value", amps: 1 },
        mode: "cv",
        together: true,
      },
    });
    expect(packReadings(Array.from({ length: 300 }, (_, index) => one(`feed${index}`)))).toBeNull();
    expect(packReadings(Array.from({ length: MOST_PACKED + 1 }, () => one("aux")))).toBeNull();
    expect(back(Array.from({ length: MOST_PACKED }, () => one("aux")))).toHaveLength(MOST_PACKED);
  });

  it("that are cut off, changed or said to be more are refused, or are readings all the same", () => {
    const readings: StoredReading[] = Array.from({ length: 50 }, (_, index) => ({
      eventAtMs: index + 0.5,
      reading: {
        feed: index % 2 === 0 ? "aux" : "slot12",
        queriedAtMs: index,
        atMs: index + 0.25,
        volts: { kind: "value", volts: 12 + index / 1000 },
        amps: { kind: "value", amps: index / 100 },
        mode: "cv",
        together: true,
      },
    }));
    const packed = packReadings(readings) ?? Buffer.alloc(0);
    expect(() => unpackColumns(packed, 51)).toThrow();
    for (let length = 0; length < packed.length; length++)
      expect(() => unpackColumns(packed.subarray(0, length), 50)).toThrow();
    fc.assert(
      fc.property(fc.nat(packed.length - 1), fc.integer({ min: 1, max: 255 }), (at, flip) => {
        const changed = Buffer.from(packed);
        changed[at] = (changed[at] ?? 0) ^ flip;
        let columns: ReturnType<typeof unpackColumns> | null = null;
        try {
          columns = unpackColumns(changed, 50);
        } catch {
          return;
        }
        const feeds = new Set(readingsOfColumns(columns).map((each: { reading: FeedReading }) => each.reading.feed));
        expect([...feeds].every((feed) => columns.feeds.includes(feed))).toBe(true);
      }),
      { numRuns: 500 },
    );
  });
});
