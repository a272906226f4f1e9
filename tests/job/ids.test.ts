import fc from "fast-check";
import { expect, test } from "vitest";
import { findId } from "../../src/job/find/find-id.ts";
import { shortId, uuidV7, uuidV7Maker } from "../../src/job/store/uuid-v7.ts";

test("an id is laid out as RFC 9562's example of version 7 (appendix A.6, from memory)", () => {
  // unix_ts_ms 0x017F22E279B0, rand_a 0xCC3, var 2, rand_b 0x18C4DC0C0C07398F; a maker takes 80 random bits.
  const random = Buffer.from("0cc398c4dc0c0c07398f", "hex");
  expect(
    uuidV7Maker(
      () => 0x017f22e279b0,
      () => random,
    )(),
  ).toBe("017f22e2-79b0-7cc3-98c4-dc0c0c07398f");
});

test("ids of one maker rise, whatever the wall clock does", () => {
  fc.assert(
    fc.property(fc.array(fc.integer({ min: 0, max: 2000 }), { minLength: 2, maxLength: 300 }), (clock) => {
      let at = 0;
      const make = uuidV7Maker(() => 1_700_000_000_000 + (clock[at++ % clock.length] ?? 0));
      const ids = clock.map(make);
      expect(ids).toEqual([...ids].sort());
      expect(new Set(ids).size).toBe(ids.length);
    }),
  );
});

test("more ids than a millisecond can number go on rising", () => {
  const make = uuidV7Maker(() => 1_700_000_000_000);
  const ids = Array.from({ length: 10_000 }, make);
  expect(ids).toEqual([...ids].sort());
  expect(new Set(ids).size).toBe(ids.length);
});

const one = "01a213a6-5505-786d-9cbb-abafeb00a8d1";
const other = "01a213a6-5505-786e-9cbb-abafeb11b8d2";

test.each([one, one.toUpperCase(), "01a213a65505786d", "eb00a8d1", "eb00", "a8d1", " eb00a8d1 ", "01a213a6-5505-786d"])(
  "%j means the one job it fits",
  (text) => {
    expect(findId(text, [one, other], "job")).toBe(one);
  },
);

test("an id that fits two jobs is refused and names both", () => {
  expect(() => findId("01a2", [one, other], "job", (id) => `title of ${shortId(id)}`)).toThrow(
    /fits 2 jobs: eb00a8d1 title of eb00a8d1; eb11b8d2 title of eb11b8d2/,
  );
});

test.each([
  ["ffff", /This record has no job "ffff"/],
  ["a8d", /too short/],
  ["", /is not a job id/],
  ["../..", /is not a job id/],
  ["\u001b[2J", /"\\u001b\[2J" is not a job id/],
])("%j is refused", (text, sentence) => {
  expect(() => findId(text, [one, other], "job")).toThrow(sentence);
});

test("the short form tells jobs of one minute apart", () => {
  const ids = Array.from({ length: 1000 }, uuidV7);
  expect(new Set(ids.map(shortId)).size).toBe(1000);
});
