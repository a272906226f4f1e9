import { expect, test } from "vitest";
import type { Cycle } from "../../shared/record/cycles.ts";
import { cycleStarts } from "../../src/daemon/run/cycle-starts.ts";
import { cyclesResult, usualClass } from "../../src/verdict/cycles.ts";
import { runProgram } from "./run-program.ts";

/** The starts of a wish on a clock that only its own pauses and starts move; each is on for `onMs`. */
function startsOf(
  wish: Parameters<typeof cycleStarts>[0],
  { maxOnMs = 1e9, maxOnJoules = 1e9, onMs = 20_000, watts = 1 } = {},
) {
  let nowMs = 0;
  const starts: [kind: string, offSeconds: number][] = [];
  for (const { kind, offSeconds, wasOn } of cycleStarts(wish, { maxOnMs, maxOnJoules, nowMs: () => nowMs })) {
    starts.push([kind, offSeconds]);
    nowMs += 1000 * offSeconds + onMs;
    wasOn(onMs, (watts * onMs) / 1000);
  }
  return { starts, nowMs };
}

test("cold starts come first, then warm ones, each after its own pause; the first waits for nothing", () => {
  expect(startsOf({ cold: 2, warm: 2, coldOff: 60, warmOff: 2 }).starts).toEqual([
    ["cold", 0],
    ["cold", 60],
    ["warm", 2],
    ["warm", 2],
  ]);
});

test("starts that together go over the longest on-time wait four times what they took", () => {
  const { starts } = startsOf({ warm: 4, warmOff: 2 }, { maxOnMs: 45_000 });
  expect(starts.map(([, off]) => off)).toEqual([0, 2, 160, 2]);
});

test("starts that together go over the heat of a bare chip wait four times what they took", () => {
  // 60 W for 5 s are 300 J of 320 J: each further start cools first.
  const { starts } = startsOf({ warm: 3, warmOff: 2 }, { maxOnMs: 60_000, maxOnJoules: 320, onMs: 5000, watts: 60 });
  expect(starts.map(([, off]) => off)).toEqual([0, 20, 20]);
});

test("for a time, the pattern goes on and the last start ends within it", () => {
  const { starts, nowMs } = startsOf({ cold: 1, warm: 2, coldOff: 60, warmOff: 2, forSeconds: 600 });
  expect(starts.slice(0, 4).map(([kind]) => kind)).toEqual(["cold", "warm", "warm", "cold"]);
  expect(nowMs).toBeLessThanOrEqual(600_000);
  expect(nowMs).toBeGreaterThan(500_000);
});

const cycle = (number: number, changes: Partial<Cycle> = {}): Cycle => ({
  cycle: number,
  start: "warm",
  run: "0192aa11-0000-7000-8000-000000000001",
  class: "normal",
  clean: true,
  because: [],
  offSeconds: 3,
  plateauAmps: 2 + number / 10,
  chargeCoulombs: null,
  startMs: 800,
  ...changes,
});

test("a start that drew otherwise than most is not clean, also where it was the first", () => {
  const { cycles, result } = cyclesResult([cycle(1, { class: "standby-only" }), cycle(2), cycle(3)], {
    endedBy: "plan",
    because: "",
  });
  expect(cycles.map((each) => each.clean)).toEqual([false, true, true]);
  // One of three fails: the one-sided 95 % limit solves (1-p)^3 + 3p(1-p)^2 = 0.05.
  const p = result.failureShareBelow ?? Number.NaN;
  expect((1 - p) ** 3 + 3 * p * (1 - p) ** 2).toBeCloseTo(0.05, 9);
  expect(result).toMatchObject({ clean: 2, cycles: 3, chargeCoulombs: null });
  expect(result.plateauAmps?.mean).toBeCloseTo(2.2, 12);
  expect(result.plateauAmps?.stdDev).toBeCloseTo(0.1, 12);
  expect(usualClass([])).toBeNull();
});

test("the host's words are counted where a host was asked, and left out where none was", () => {
  const end = { endedBy: "plan", because: "" } as const;
  const cycles = [cycle(1, { host: "enumerated" }), cycle(2, { host: null }), cycle(3, { host: "enumerated" })];
  expect(cyclesResult(cycles, end).result.host).toEqual({ enumerated: 2, "no look": 1 });
  expect(cyclesResult([cycle(1)], end).result).not.toHaveProperty("host");
});

test("no start at all shows nothing", () => {
  expect(cyclesResult([], { endedBy: "person", because: "" }).result.failureShareBelow).toBeNull();
});

test.each([
  [[], /--cold, --warm or --for/],
  [["--cold", "0"], /a count from 1 to/],
  [["--for", "8"], /a time such as 90s, 30min or 8h/],
  [["--warm", "2", "--keep-on", "--json"], /Cannot keep the output on after cycle/],
])("cycles with %j are refused and nothing is touched", async (words, message) => {
  const { code, err } = await runProgram(["cycle", "--bench", "none.json", ...words]);
  expect(code).toBe(2);
  expect(err).toMatch(message);
});
