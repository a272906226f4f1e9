import { describe, expect, it } from "vitest";
import type { DrawClass, DrawVerdict } from "../../shared/draw-verdict.ts";
import { verdictOnDraw } from "../../src/verdict/draw-verdict.ts";
import { gaussian, seeded } from "../analysis/series.ts";
import { BOARD, CLEAN_TOUCH, inputOf, OFF, type Part, traceOf, watched } from "./synthetic.ts";

/** Without calibration, which is fitted class by class. */
const judged = (parts: Part[], options = {}, rest = {}): DrawVerdict =>
  verdictOnDraw(inputOf([traceOf(parts, options)], rest), {});
const likely = ({ candidates }: DrawVerdict, name: DrawClass): number =>
  candidates.find((each) => each.class === name)?.probability ?? 0;

/** The greatest step of a probability between neighbours of a series of draws. */
function greatestJump(values: readonly number[], probability: (value: number) => number): number {
  const all = values.map(probability);
  return Math.max(...all.slice(1).map((each, index) => Math.abs(each - (all[index] ?? each))));
}
const steps = (from: number, to: number, n: number) =>
  Array.from({ length: n + 1 }, (_, i) => from + ((to - from) * i) / n);

describe("a small step of what is read is a small step of the probabilities", () => {
  it("from a dead to a partial short", () => {
    const deadAt = (ohms: number) =>
      likely(
        judged([
          OFF,
          { stage: "touch", ms: 400, set: 0.9, limit: 0.3, volts: 0.3 * (ohms + 0.05), amps: 0.3, mode: "cc" },
          OFF,
        ]),
        "dead-short",
      );
    expect(deadAt(0.4)).toBeGreaterThan(0.95);
    expect(deadAt(0.6)).toBeLessThan(0.05);
    expect(greatestJump(steps(0.4, 0.6, 100), deadAt)).toBeLessThan(0.12);
  });
  it("from the top of the healthy band to an overload", () => {
    const overAt = (amps: number) => likely(judged([OFF, CLEAN_TOUCH, OFF, ...watched(15_000, amps)]), "overload");
    expect(overAt(1.12)).toBeLessThan(0.3);
    expect(overAt(1.8)).toBeGreaterThan(0.9);
    expect(greatestJump(steps(1.12, 1.8, 40), overAt)).toBeLessThan(0.12);
  });
  it("from a steady draw to a restless one", () => {
    const draw = gaussian(seeded(4));
    const noise = Array.from({ length: 400 }, draw);
    const retryAt = (share: number) =>
      likely(
        judged(
          [
            OFF,
            OFF,
            OFF,
            OFF,
            CLEAN_TOUCH,
            OFF,
            ...watched(15_000, (t) => 0.5 * (1 + share * (noise[Math.round(t / 100)] ?? 0))),
          ],
          {
            intervalMs: 100,
            jitter: 0,
          },
        ),
        "retrying",
      );
    expect(retryAt(0.003)).toBeLessThan(0.1);
    expect(retryAt(0.08)).toBeGreaterThan(0.8);
    expect(greatestJump(steps(0.003, 0.08, 60), retryAt)).toBeLessThan(0.15);
  });
});

describe("a draw that is not decided", () => {
  const open: [string, DrawVerdict][] = [
    ["between two bands", judged([OFF, CLEAN_TOUCH, OFF, ...watched(15_000, 0.625)])],
    ["at a band's edge", judged([OFF, CLEAN_TOUCH, OFF, ...watched(15_000, 0.352)])],
    ["above the healthy band", judged([OFF, CLEAN_TOUCH, OFF, ...watched(15_000, 1.3)])],
    ["watched too briefly", judged([OFF, CLEAN_TOUCH, OFF, ...watched(1200, 0.85)])],
    [
      "with steps of 10 mA and no current",
      judged([OFF, CLEAN_TOUCH, OFF, ...watched(15_000, 0.01)], { stepAmps: 0.01 }),
    ],
    [
      "within the leads of a dead short",
      judged([OFF, { stage: "touch", ms: 400, set: 0.9, limit: 0.3, volts: 0.165, amps: 0.3, mode: "cc" }, OFF], {
        leadOhms: null,
      }),
    ],
  ];
  it.each(open)("%s names two candidates and what would decide", (_, verdict) => {
    expect(verdict.class).toBe("cannot-tell");
    expect(verdict.candidates.length).toBeGreaterThanOrEqual(2);
    expect(verdict.because.join(" ")).toMatch(/ (tells?|tell\.|would(\.| tell)|decides)/);
  });
});

describe("what a person can change", () => {
  it("where a dead short ends is the board file's to say", () => {
    const at = (ohms: number, board = BOARD) =>
      judged(
        [
          OFF,
          { stage: "touch", ms: 400, set: 0.9, limit: 0.3, volts: 0.3 * (ohms + 0.05), amps: 0.3, mode: "cc" },
          OFF,
        ],
        {},
        { board },
      ).class;
    expect(at(1)).toBe("overload");
    expect(at(1, { ...BOARD, drawLimits: { deadShortOhms: 2 } })).toBe("dead-short");
  });
  it("bands of an unknown board are the shop's to say", () => {
    const at = (shop: object | null) =>
      judged([OFF, CLEAN_TOUCH, OFF, ...watched(15_000, 0.25)], {}, { board: null, shop });
    expect(at(null).class).toBe("partly-up");
    const known = at({ version: 1, unknownBoardAmps: { "standby-only": [0.01, 0.4], "core-alive": [0.6, 2] } });
    expect(known.class).toBe("standby-only");
    expect(known.because.join(" ")).toContain("the shop's defaults");
  });
  it("how much a fault called healthy weighs moves the line to cannot-tell", () => {
    const draw = gaussian(seeded(4));
    const noise = Array.from({ length: 400 }, draw);
    const restless = (cost: number) =>
      judged(
        [
          OFF,
          OFF,
          OFF,
          OFF,
          CLEAN_TOUCH,
          OFF,
          ...watched(15_000, (t) => 0.5 * (1 + 0.014 * (noise[Math.round(t / 100)] ?? 0))),
        ],
        { intervalMs: 100, jitter: 0 },
        { board: { ...BOARD, drawLimits: { faultCalledHealthyCost: cost } } },
      );
    expect(restless(1).class).toBe("core-alive");
    expect(restless(30).class).toBe("cannot-tell");
    expect(restless(30).candidates.map((each) => each.class)).toEqual(
      expect.arrayContaining(["core-alive", "retrying"]),
    );
  });
});
