import { describe, expect, test } from "vitest";
import { BoardFile } from "../../shared/files/board-file.ts";
import { startOrder } from "../../src/verdict/start/start-order.ts";

const board = BoardFile.parse({
  version: 1,
  name: "Kestrel K2",
  feeds: { slot12: { nominalVolts: 12 } },
  rails: {
    "12v": { volts: 12, tolerance: [-0.08, 0.05], needs: ["feed:slot12"] },
    "5v": { volts: 5, tolerance: [-0.05, 0.05], needs: ["12v"] },
    core: { volts: 0.85, tolerance: [-0.1, 0.1], needs: ["5v"] },
    refclk: { volts: 0.9, signal: true, needs: ["12v"] },
    reset: { volts: 1.8, tolerance: [-0.3, 0.1], signal: true, needs: ["core"] },
  },
});

type Shape = (ms: number) => number;
const edge =
  (startMs: number, volts: number, riseMs = 1): Shape =>
  (ms) =>
    volts * Math.min(1, Math.max(0, (ms - startMs) / riseMs));

function start(shapes: Record<string, Shape>, { lengthMs = 300, stepMs = 0.02 } = {}) {
  const atMs = Float64Array.from({ length: Math.round(lengthMs / stepMs) }, (_, i) => i * stepMs);
  return startOrder(
    { atMs, volts: new Map(Object.entries(shapes).map(([name, shape]) => [name, atMs.map(shape)])) },
    board,
  );
}
const GOOD = { "12v": edge(10, 12), "5v": edge(20, 5), core: edge(30, 0.85), reset: edge(150, 1.8, 0.05) };

test("a start in order, with its reset 100 ms after the supplies, has nothing wrong", () => {
  const { order, problems, checks, rails } = start(GOOD);
  expect(order).toEqual(["12v", "5v", "core", "reset"]);
  expect(problems).toEqual([]);
  expect(rails["core"]?.beginsMs).toBeCloseTo(30.1, 2);
  expect(rails["core"]?.riseMs).toBeCloseTo(0.8, 2);
  // From 90 % of 12 V at 10.9 ms to the middle of the reset's edge at 150.025 ms.
  expect(checks).toMatchObject([{ leastMs: 100, result: "met" }]);
  expect(checks[0]?.ms).toBeCloseTo(139.125, 2);
});

test("each thing that is wrong is said of the rail it is wrong with", () => {
  const wrong: [shapes: Record<string, Shape>, about: string, words: RegExp][] = [
    [
      { ...GOOD, core: edge(15, 0.85) },
      "core",
      /core begins at 15\.\d* ms, before 5v, which it needs, is up at 20\.9 ms/,
    ],
    [{ ...GOOD, "5v": edge(20, 4.1) }, "5v", /5v ends at 4\.1 V, below its 4\.75 V/],
    [{ ...GOOD, core: () => 0.01 }, "core", /core does not come up/],
    [
      { ...GOOD, "5v": (ms) => (ms > 200 && ms < 203 ? 3 : edge(20, 5)(ms)) },
      "5v",
      /5v dips to 3 V at 200 ms for (2\.9\d*|3) ms/,
    ],
    [{ ...GOOD, core: (ms) => edge(30, 0.85)(ms) + (ms > 31 && ms < 31.5 ? 0.2 : 0) }, "core", /overshoots to 1\.05 V/],
    [{ ...GOOD, "5v": (ms) => (ms > 50 && ms < 60 ? 0 : edge(20, 5)(ms)) }, "5v", /comes up 2 times/],
    [{ ...GOOD, reset: edge(60, 1.8, 0.05) }, "reset", /T_PVPERL.*49\.1\d* ms ± .*at least 100 ms/],
  ];
  for (const [shapes, about, words] of wrong) {
    const found = start(shapes);
    expect(found.problems.join("\n")).toMatch(words);
    expect(found.about).toContain(about);
    expect(found.problems).toHaveLength(found.about.length);
  }
});

describe("the reference clock (least times of the card specification)", () => {
  const clock =
    (startMs: number): Shape =>
    (ms) =>
      ms < startMs ? 0 : Math.floor(ms / 0.05) % 2 === 0 ? 1.8 : 0;
  test("that runs long before the end of reset is met", () => {
    const { checks, problems } = start({ ...GOOD, refclk: clock(100) });
    expect(checks.find((each) => each.what.includes("clock"))).toMatchObject({ leastMs: 0.1, result: "met" });
    expect(problems).toEqual([]);
  });
  test("that comes after it is not", () => {
    const { checks } = start({ ...GOOD, refclk: clock(200) });
    expect(checks.find((each) => each.what.includes("clock"))?.result).toBe("not-met");
  });
  test("that a slow trace cannot time to 0.1 ms cannot be told", () => {
    const { checks } = start(
      { ...GOOD, refclk: (ms) => (ms < 149.9 ? 0 : Math.floor(ms / 0.4) % 2 ? 1.8 : 0) },
      { stepMs: 0.1 },
    );
    expect(checks.find((each) => each.what.includes("clock"))?.result).toBe("cannot-tell");
  });
});

test("a second reset shorter than 100 µs is said, a longer one is not", () => {
  const pulse =
    (lengthMs: number): Shape =>
    (ms) =>
      ms > 200 && ms < 200 + lengthMs ? 0 : edge(150, 1.8, 0.05)(ms);
  const widths = (lengthMs: number) =>
    start({ ...GOOD, reset: pulse(lengthMs) }).checks.filter((each) => each.what.includes("T_PERST)"));
  expect(widths(0.05)).toMatchObject([{ result: "not-met" }]);
  expect(widths(2)).toMatchObject([{ result: "met" }]);
});

test("a rail that was up before the trace began is no problem, and a note says so", () => {
  const { problems, notes } = start({ ...GOOD, "12v": () => 12 });
  expect(problems).toEqual([]);
  expect(notes.join()).toContain("12v was already up when the trace began");
});

test("a trace of nothing at all says that each rail stays away", () => {
  const { order, problems } = start({ "12v": () => 0, core: () => 0 });
  expect(order).toEqual([]);
  expect(problems).toHaveLength(2);
});
