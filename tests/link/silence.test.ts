import { expect, test } from "vitest";
import { processorTime } from "../../src/system/processor-time.ts";
import { Silence } from "../../src/system/silence.ts";

const LIMIT_MS = 250;

/** Looks every 25 ms until the silence is too long, and answers with when that was; `lookMs` makes the looks late. */
function tooLongAfterMs(silence: Silence, lookMs = 25): number {
  for (let nowMs = lookMs; nowMs < 5000; nowMs += lookMs) if (silence.look(nowMs, LIMIT_MS) > LIMIT_MS) return nowMs;
  return Number.POSITIVE_INFINITY;
}

test("a process that says nothing has been silent too long after the limit and one look", () => {
  expect(tooLongAfterMs(new Silence(0))).toBe(275);
});

test("what is said begins the silence anew", () => {
  const silence = new Silence(0);
  expect(silence.look(40, LIMIT_MS)).toBe(40);
  silence.heard(50);
  expect(silence.look(60, LIMIT_MS)).toBe(10);
});

test("time in which this process itself stood still is no silence of the other", () => {
  const silence = new Silence(0);
  expect(silence.look(3000, LIMIT_MS)).toBe(40);
  silence.heard(3001);
  expect(silence.look(3026, LIMIT_MS)).toBe(25);
});

test("looks that are always late make the limit longer, and never put it off for good", () => {
  expect(tooLongAfterMs(new Silence(0), 80)).toBe(560);
});

test("a process that waits for a processor is not silent by its own doing, for 150 ms at most", () => {
  let waitedMs = 1000;
  const silence = new Silence(0, () => ({ ranMs: 0, waitedMs }));
  for (let nowMs = 25; nowMs <= 400; nowMs += 25) {
    waitedMs += 25;
    expect(silence.look(nowMs, LIMIT_MS)).toBeLessThanOrEqual(LIMIT_MS);
  }
  waitedMs += 25;
  expect(silence.look(425, LIMIT_MS)).toBeGreaterThan(LIMIT_MS);
});

test("one that runs all the while and waits now and then is silent by its own doing", () => {
  let nowMs = 0;
  const silence = new Silence(0, () => ({ ranMs: 0.6 * nowMs, waitedMs: 0.4 * nowMs }));
  for (nowMs = 25; nowMs <= 250; nowMs += 25) expect(silence.look(nowMs, LIMIT_MS)).toBeLessThanOrEqual(LIMIT_MS);
  expect(silence.look(275, LIMIT_MS)).toBe(275);
});

test("the kernel's count of this process's own waits is there, and does not fall", () => {
  const before = processorTime(process.pid);
  expect(before?.ranMs).toBeGreaterThan(0);
  expect(processorTime(process.pid)?.waitedMs).toBeGreaterThanOrEqual(before?.waitedMs ?? 0);
  expect(processorTime(2 ** 30)).toBeNull();
});
