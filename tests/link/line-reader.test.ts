import fc from "fast-check";
import { beforeEach, describe, expect, test } from "vitest";
import { LineReader } from "../../src/link/line-reader.ts";
import { HandClock } from "../hand-clock.ts";
import { keptBytes } from "../kept-bytes.ts";

interface Rig {
  reader: LineReader;
  clock: HandClock;
  lines: string[];
  junk: string[];
}

function rig(): Rig {
  const lines: string[] = [];
  const junk: string[] = [];
  const clock = new HandClock();
  const reader = new LineReader({
    clock,
    onLine: (line) => lines.push(line.text),
    onJunk: ({ why, text }) => junk.push(`${why}: ${text.length > 20 ? text.length : text}`),
  });
  return { reader, clock, lines, junk };
}

/** The splitter under the reader begins one turn after it was made. */
const aTurn = () => new Promise<void>((resolve) => setImmediate(resolve));
const bytes = (text: string) => Buffer.from(text, "latin1");

let now: Rig;
beforeEach(async () => {
  now = rig();
  await aTurn();
});

describe("LineReader", () => {
  // Terminators that instruments send: faults catalogue, common practice, no source.
  test.each(["\n", "\r", "\r\n", "\n\r", "\r\n\r\n", "\n\n\n", "\0\r\0\n\0"])(
    "takes %j as one end of a line",
    (end) => {
      now.reader.push(bytes(`${end}1.5${end}2.5${end}`));
      expect(now.lines).toEqual(["1.5", "2.5"]);
      expect(now.junk).toEqual([]);
    },
  );

  test("hands a line on in the same turn as its last byte, with that time", () => {
    const stamps: number[] = [];
    const clock = new HandClock();
    const reader = new LineReader({ clock, onLine: ({ atMs }) => stamps.push(atMs), onJunk: () => undefined });
    return aTurn().then(() => {
      reader.push(bytes("1."));
      clock.advance(40);
      reader.push(bytes("5\n2.5\n"));
      expect(stamps).toEqual([40, 40]);
    });
  });

  test("leaves NUL out, also inside a line", () => {
    now.reader.push(bytes("\0\x001.\x005\0\n"));
    expect(now.lines).toEqual(["1.5"]);
  });

  test("keeps spaces, which are a reply, and makes no line of nothing", () => {
    now.reader.push(bytes("\n  \n\r\n"));
    expect(now.lines).toEqual(["  "]);
  });

  test("a line of 4096 bytes is a line; one more is junk, and its rest is dropped", () => {
    now.reader.push(bytes(`${"x".repeat(4096)}\n${"y".repeat(4097)}\n${"z".repeat(10_000)}\n1.5\n`));
    expect(now.lines.map((line) => line.length)).toEqual([4096, 3]);
    expect(now.junk).toEqual(["too-long: 4096", "too-long: 4096"]);
  });

  test.each(["\xff", "\x80", "\x1b[2J", "\x07", "\x7f", "µ"])("a line with the byte(s) %j is junk", (bad) => {
    now.reader.push(bytes(`1${bad}5\n1.5\n`));
    expect(now.junk).toEqual([`not-text: 1${bad}5`]);
    expect(now.lines).toEqual(["1.5"]);
  });

  test("half a line that stays for 100 ms is junk, and so is what comes of it later", () => {
    now.reader.push(bytes("1."));
    now.clock.advance(99);
    expect(now.junk).toEqual([]);
    now.clock.advance(1);
    expect(now.junk).toEqual(["stalled: 1."]);
    now.reader.push(bytes("234\n5.678\n"));
    expect(now.lines).toEqual(["5.678"]);
  });

  test("the 100 ms count from the last byte", () => {
    for (const byte of "1.234") {
      now.reader.push(bytes(byte));
      now.clock.advance(99);
    }
    now.reader.push(bytes("\n"));
    expect(now.lines).toEqual(["1.234"]);
    expect(now.junk).toEqual([]);
  });

  test("a stall is also found when no timer could run before the next bytes came", () => {
    const late = rig();
    const blocked = { nowMs: () => late.clock.nowMs(), after: () => () => undefined };
    const reader = new LineReader({
      clock: blocked,
      onLine: ({ text }) => late.lines.push(text),
      onJunk: ({ why, text }) => late.junk.push(`${why}: ${text}`),
    });
    return aTurn().then(() => {
      reader.push(bytes("1."));
      late.clock.advance(150);
      reader.push(bytes("234\n5.678\n"));
      expect(late.junk).toEqual(["stalled: 1."]);
      expect(late.lines).toEqual(["5.678"]);
    });
  });

  test("the end of the link makes junk of half a line, and no line", () => {
    now.reader.push(bytes("1.5\n1."));
    now.reader.end();
    expect(now.lines).toEqual(["1.5"]);
    expect(now.junk).toEqual(["half-line: 1."]);
    now.clock.advance(1000);
    expect(now.junk).toHaveLength(1);
  });

  test("discard drops half a line and its rest, without junk", () => {
    now.reader.push(bytes("1."));
    now.reader.discard();
    now.reader.push(bytes("5\n2.5\n"));
    expect(now.lines).toEqual(["2.5"]);
    expect(now.junk).toEqual([]);
  });

  test("an instrument cannot forge a mark", () => {
    now.reader.push(bytes("1.5\0H\n2\0D\n"));
    expect(now.lines).toEqual(["1.5H", "2D"]);
    expect(now.junk).toEqual([]);
  });

  test("any bytes in any chunks give the same lines and junk as in one chunk", async () => {
    // Terminators and bad bytes often, and short pieces of text often repeated so that some lines pass the longest.
    const stretch = fc.oneof(
      fc.constantFrom("\n", "\r", "\r\n", "\0", "\xff", "1.5", "*IDN?"),
      fc.string({ unit: "binary-ascii" }),
      fc.integer({ min: 1, max: 5000 }).map((length) => "7".repeat(length)),
    );
    await fc.assert(
      fc.asyncProperty(
        fc.array(stretch),
        fc.array(fc.integer({ min: 1, max: 600 }), { minLength: 1 }),
        async (parts, cuts) => {
          const all = bytes(parts.join(""));
          const [whole, pieces] = [rig(), rig()];
          await aTurn();
          whole.reader.push(all);
          let cut = 0;
          for (let at = 0; at < all.length; at += cuts[cut++ % cuts.length] ?? 1) {
            pieces.reader.push(all.subarray(at, at + (cuts[cut % cuts.length] ?? 1)));
          }
          whole.reader.end();
          pieces.reader.end();
          expect(pieces.lines).toEqual(whole.lines);
          expect(pieces.junk).toEqual(whole.junk);
          // Said another way, without the reader: the lines are what lies between the ends, NUL left out.
          const between = parts
            .join("")
            .replaceAll("\0", "")
            .split(/[\r\n]+/);
          const good = between
            .slice(0, -1)
            .filter((text) => text !== "" && text.length <= 4096 && /^[\t -~]*$/.test(text));
          expect(whole.lines).toEqual(good);
        },
      ),
    );
  });

  test("100 000 random lines and 80 MB without an end: every good line comes, nothing else does, memory stays", async () => {
    const random = mulberry(20261125);
    let good = 0;
    let wrong = 0;
    let lost = 0;
    const reader = new LineReader({
      clock: new HandClock(),
      onLine: ({ text }) => {
        if (text === `V${good}.5E`) good++;
        else if (!/^[\t -~]{1,12}$/.test(text)) wrong++;
      },
      onJunk: ({ text }) => {
        lost++;
        if (text.length > 4096) wrong++;
      },
    });
    await aTurn();
    const before = keptBytes();
    for (let line = 0; line < 100_000; line++) {
      if (line === 50_000) {
        for (let each = 0; each < 5120; each++) reader.push(Buffer.alloc(16_384, 0x55));
        // All 80 MB would be here now, had they been kept.
        expect(keptBytes() - before).toBeLessThan(16 * 2 ** 20);
      }
      const noise = Buffer.from(Array.from({ length: random() * 12 }, () => random() * 256));
      reader.push(Buffer.concat([noise, bytes(`\r\nV${line}.5E\n`)]));
    }
    expect(good).toBe(100_000);
    expect(wrong).toBe(0);
    expect(lost).toBeGreaterThan(10_000);
  }, 30_000);
});

/** A small seeded generator (mulberry32, from memory): the same bytes in each run. */
function mulberry(seed: number): () => number {
  let state = seed;
  return () => {
    state = (state + 0x6d2b79f5) | 0;
    let t = Math.imul(state ^ (state >>> 15), 1 | state);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 2 ** 32;
  };
}
