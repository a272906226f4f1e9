import fc from "fast-check";
import { expect, test } from "vitest";
import { byStamp, newOrigin, parseStamp, StampClock, stampsOfOld } from "../../src/job/store/stamp.ts";

const DAY_MS = 86_400_000;

test("stamps of one clock rise whatever the wall clock does", () => {
  fc.assert(
    fc.property(fc.array(fc.integer({ min: -2 * DAY_MS, max: 2 * DAY_MS }), { maxLength: 50 }), (jumps) => {
      let nowMs = Date.UTC(2026, 10, 25);
      const clock = new StampClock(newOrigin("north"), () => nowMs);
      const stamps = jumps.map((jump) => {
        nowMs += jump;
        return clock.next();
      });
      expect([...stamps].sort()).toEqual(stamps);
      expect(new Set(stamps).size).toBe(stamps.length);
    }),
  );
});

test("what a bench files after it saw another's event comes after it, with clocks off by up to a day either way", () => {
  // Each step: which of three benches files, and whose last event it has seen before.
  const step = fc.record({ by: fc.nat({ max: 2 }), seen: fc.nat({ max: 2 }) });
  const off = fc.integer({ min: -DAY_MS, max: DAY_MS });
  fc.assert(
    fc.property(fc.tuple(off, off, off), fc.array(step, { minLength: 1, maxLength: 60 }), (offsets, steps) => {
      let nowMs = Date.UTC(2026, 10, 25);
      const clocks = offsets.map((each, index) => new StampClock(newOrigin(`bench${index}`), () => nowMs + each));
      const last: (string | undefined)[] = [];
      const filed: { id: string; stamp: string }[] = [];
      steps.forEach(({ by, seen }, index) => {
        nowMs += 10;
        const [clock, before] = [clocks[by], last[seen]];
        if (clock === undefined) return;
        if (before !== undefined) clock.see(before);
        const stamp = clock.next();
        if (before !== undefined) expect(stamp > before).toBe(true);
        last[by] = stamp;
        filed.push({ id: String(index), stamp });
      });
      // Every bench orders the same set alike, whatever order it came in.
      expect(filed.toReversed().sort(byStamp)).toEqual(filed.toSorted(byStamp));
    }),
  );
});

test("a stamp comes back from its text, and another text is none", () => {
  const origin = newOrigin("tern-1");
  const stamp = new StampClock(origin, () => Date.UTC(2026, 10, 25)).next();
  expect(parseStamp(stamp)).toEqual({ ms: Date.UTC(2026, 10, 25), counter: 0, origin });
  for (const text of ["", "x", stamp.slice(1), `${stamp}x`, stamp.replace("~", "")])
    expect(parseStamp(text)).toBeNull();
});

test("old events get stamps by their wall clocks and places, the same each time", () => {
  const at = [
    "2026-11-25T08:00:00.000Z",
    "2026-11-25T07:00:00.000Z",
    "2026-11-25T08:00:00.000Z",
    "2026-11-26T08:00:00.000Z",
  ];
  const stamps = stampsOfOld(at);
  expect(stamps).toEqual(stampsOfOld(at));
  expect([...stamps].sort()).toEqual(stamps);
  expect(parseStamp(stamps[3] ?? "")).toEqual({ ms: Date.UTC(2026, 10, 26, 8), counter: 0, origin: "" });
});
