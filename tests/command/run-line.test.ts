import { describe, expect, it } from "vitest";
import type { FeedReading } from "../../shared/reading.ts";
import { runLine } from "../../src/command/text/run-line.ts";
import { wrapWords } from "../../src/command/text/wrap-words.ts";

const reading = (feed: string, volts: number, amps: number, mode: FeedReading["mode"] = "cv"): FeedReading => ({
  feed,
  queriedAtMs: 0,
  atMs: 10,
  volts: { kind: "value", volts },
  amps: { kind: "value", amps },
  mode,
  together: true,
});

const WATCH = {
  stage: "watch",
  feed: null,
  waitingFor: "the draw to settle",
  waitedMs: 400,
  expectedMs: 15_000,
  readings: [reading("slot3v3", 3.3, 0.08), reading("slot12", 12, 0.5), reading("aux", 11.994, 2.649)],
};

describe("runLine", () => {
  it("shows three feeds whole on a terminal of 80 columns", () => {
    expect(runLine(WATCH, 77)).toBe("watch 0.4/15.0 s  slot3v3 3.30V 0.08A  slot12 12.00V 0.50A  aux 11.99V 2.65A");
  });

  it("says what is waited for where there is room, with every digit", () => {
    expect(runLine({ ...WATCH, readings: WATCH.readings.slice(2) }, 77)).toBe(
      "watch 0.4/15.0 s  aux 11.994 V 2.649 A  the draw to settle",
    );
  });

  it("says that a feed is held at its limit, and leaves tenths out of a long watch", () => {
    const line = runLine(
      { ...WATCH, expectedMs: 1_800_000, waitedMs: 7300, readings: [reading("aux", 3.1, 3, "cc")] },
      77,
    );
    expect(line).toBe("watch 7/1800 s  aux 3.100 V 3.000 A AT LIMIT  the draw to settle");
  });

  it("is never wider than the terminal", () => {
    for (let width = 10; width < 120; width++) expect(runLine(WATCH, width).length).toBeLessThanOrEqual(width);
  });

  it("calls a figure that is none by its kind", () => {
    const lost: FeedReading = { ...reading("aux", 0, 0), amps: { kind: "overload" } };
    expect(runLine({ ...WATCH, readings: [lost] }, 77)).toContain("aux 0.000 V overload A");
  });
});

describe("wrapWords", () => {
  it("breaks between words and stands under the first of them", () => {
    expect(wrapWords("  - one two three four", 12)).toBe("  - one two\n    three\n    four");
  });

  it("leaves short lines, and words longer than the width, as they are", () => {
    expect(wrapWords("short\nlines", 12)).toBe("short\nlines");
    expect(wrapWords("a-word-that-is-long", 8)).toBe("a-word-that-is-long");
  });
});
