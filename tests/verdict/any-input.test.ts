import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { DrawVerdict } from "../../shared/draw-verdict.ts";
import { verdictOnDraw } from "../../src/verdict/draw-verdict.ts";
import { BOARD, CLEAN_TOUCH, inputOf, OFF, type Part, traceOf, watched } from "./synthetic.ts";

const bare = (atMs: number[], volts: number[], amps: number[]) => ({
  feed: "in12",
  atMs: Float64Array.from(atMs),
  volts: Float64Array.from(volts),
  amps: Float64Array.from(amps),
  mode: null,
  setVolts: null,
  limitAmps: null,
  stage: null,
  together: true,
  leadOhms: null,
  stepVolts: null,
  stepAmps: null,
  accuracy: null,
});

describe("verdictOnDraw() on what makes no sense", () => {
  it.each([
    ["no trace", []],
    ["an empty trace", [bare([], [], [])]],
    ["one reading", [bare([0], [12], [1])]],
    ["two readings", [bare([0, 1], [12, 12], [1, 1])]],
    [
      "nothing but markers",
      [bare([0, 1, 2], [Number.NaN, Number.NaN, Number.NaN], [Number.NaN, Number.NaN, Number.NaN])],
    ],
    ["all at one moment", [bare([5, 5, 5, 5, 5, 5], [12, 12, 12, 12, 12, 12], [1, 1, 1, 1, 1, 1])]],
    ["an output never on", [bare([0, 1, 2], [0, 0, 0], [0, 0, 0])]],
  ])("is cannot-tell for %s", (_, traces) => {
    const verdict = verdictOnDraw(inputOf(traces));
    expect(verdict.class).toBe("cannot-tell");
    expect(verdict.because.length).toBeGreaterThan(0);
    expect(DrawVerdict.parse(verdict)).toEqual(verdict);
  });
  it("has a level for a constant trace of volts and amps alone", () => {
    const n = 600;
    const trace = bare(
      Array.from({ length: n }, (_, i) => i * 20),
      Array(n).fill(12),
      Array(n).fill(0.85),
    );
    const verdict = verdictOnDraw(inputOf([trace]));
    expect(verdict.class).toBe("normal");
    expect(verdict.energyJoules).toBeCloseTo(12 * 0.85 * 0.02 * (n - 1), 6);
  });
  it("judges levels by time, not by how many readings an edge has: the uneven steps of a circuit simulator", () => {
    // Microseconds apart through the charge and through a pulse every 0.5 s, 20 ms on the levels between.
    const atMs: number[] = [];
    for (let t = 0; t < 30; t += 0.005) atMs.push(t);
    for (let pulse = 0; pulse < 20; pulse++) {
      const start = 500 * pulse + 100;
      for (let t = start - 40; t < start - 0.5; t += 13) atMs.push(Math.max(t, 30 + pulse / 1000));
      for (const edge of [start, start + 60]) for (let t = edge - 0.2; t < edge + 0.2; t += 0.002) atMs.push(t);
      for (let t = start + 80; t < start + 440; t += 20) atMs.push(t);
    }
    atMs.sort((a, b) => a - b);
    const volts = atMs.map((t) => Math.min(12, t / 2));
    const chargeThen = (level: (t: number) => number) => atMs.map((t) => (t < 24 ? 1 : level(t)));
    const flat = verdictOnDraw(
      inputOf(
        [
          bare(
            atMs,
            volts,
            chargeThen(() => 0.85),
          ),
        ],
        { limitAmps: 1 },
      ),
    );
    expect(flat.class).toBe("normal");
    expect(flat.features.limitedMs).toBeCloseTo(0.97 * 24, 0);
    expect((flat.features.chargeCoulombs ?? 0) / (0.98 * 0.024)).toBeCloseTo(1, 1.7);
    const pulsed = verdictOnDraw(
      inputOf(
        [
          bare(
            atMs,
            volts,
            chargeThen((t) => ((t - 100) % 500 < 60 && t > 100 ? 0.9 : 0.05)),
          ),
        ],
        { limitAmps: 1 },
      ),
    );
    expect(pulsed.class).toBe("retrying");
    expect(pulsed.features.periodMs).toBeCloseTo(500, -1);
  });
  it("lives with gaps, markers and a current below zero", () => {
    const trace = traceOf([OFF, CLEAN_TOUCH, OFF, ...watched(15_000, 0.85)]);
    const amps = trace.amps.map((value, i) => (i % 7 === 3 ? Number.NaN : trace.volts[i] === 0 ? -0.002 : value));
    const atMs = trace.atMs.map((value, i) => (i > 400 ? value + 3000 : value));
    expect(verdictOnDraw(inputOf([{ ...trace, amps, atMs }])).class).toBe("normal");
  });
  it.each([-0.01, -0.85, -2])("is cannot-tell for %f A, and says that the current runs backwards", (amps) => {
    const verdict = verdictOnDraw(inputOf([traceOf([OFF, CLEAN_TOUCH, OFF, ...watched(6000, amps)])]));
    expect(verdict.class).toBe("cannot-tell");
    expect(verdict.because.join(" ")).toContain("runs backwards");
  });
  it("always answers a verdict of the schema, its probabilities at most one together, and the same each time", () => {
    const level = fc.oneof(
      fc.constant(0),
      fc.constant(0.9),
      fc.constant(3),
      fc.constant(12),
      fc.double({ min: -1, max: 20, noNaN: true }),
    );
    const part = fc.record({
      stage: fc.constantFrom("check", "touch", "hold-low", "rise", "watch", "off") as fc.Arbitrary<Part["stage"]>,
      ms: fc.integer({ min: 0, max: 4000 }),
      set: level,
      limit: fc.double({ min: 0, max: 5, noNaN: true }),
      volts: level,
      amps: fc.oneof(fc.constant(0), fc.constant(Number.NaN), fc.double({ min: -0.1, max: 5, noNaN: true })),
      mode: fc.constantFrom("cv", "cc", "unknown") as fc.Arbitrary<NonNullable<Part["mode"]>>,
    });
    fc.assert(
      fc.property(
        fc.array(part, { maxLength: 6 }),
        fc.boolean(),
        fc.boolean(),
        fc.constantFrom(0.001, 0.01),
        (parts, known, named, stepAmps) => {
          const trace = traceOf(parts, { intervalMs: 25, stepAmps });
          const input = inputOf(
            [named ? trace : { ...trace, stage: null, setVolts: null, limitAmps: null, mode: null }],
            { board: known ? BOARD : null },
          );
          const verdict = verdictOnDraw(input);
          expect(DrawVerdict.parse(verdict)).toEqual(verdict);
          expect(verdict.candidates.reduce((sum, each) => sum + each.probability, 0)).toBeLessThanOrEqual(1);
          expect(new Set(verdict.candidates.map((each) => each.class)).size).toBe(verdict.candidates.length);
          expect(verdict.because.join(" ")).not.toMatch(/NaN|Infinity|undefined/);
          if (verdict.class !== "cannot-tell") expect(verdict.candidates[0]?.class).toBe(verdict.class);
          expect(verdictOnDraw(input)).toEqual(verdict);
        },
      ),
      { numRuns: 150, seed: 7 },
    );
  });
});

describe("the figures beside a verdict", () => {
  /** 2 mF charged at 1 A to 12 V (24 ms), then 0.85 A. */
  const rise: Part = {
    stage: "rise",
    ms: 100,
    set: 12,
    limit: 1,
    volts: (t) => Math.min(12, t / 2),
    amps: (t) => (t < 24 ? 1 : 0.85),
  };
  const fast = verdictOnDraw(
    inputOf([
      traceOf([OFF, CLEAN_TOUCH, OFF, rise, ...watched(4000, 0.85, 1).slice(1)], {
        intervalMs: 0.5,
        jitter: 0,
        leadOhms: 0,
      }),
    ]),
  );
  it("hold charge, capacitance and time in limit of the rise", () => {
    // Charge C·V = 24 mC, reached at 98 % of 12 V; C to 2 %; the limit counts up to 97 % of the set-point.
    expect((fast.features.chargeCoulombs ?? 0) / 0.024).toBeCloseTo(0.98, 1);
    expect((fast.features.inputFarads ?? 0) / 0.002).toBeCloseTo(1, 1.5);
    expect(fast.features.limitedMs).toBeGreaterThan(22);
    expect(fast.features.limitedMs).toBeLessThan(24.5);
    expect(fast.features.sampleIntervalMs).toBeCloseTo(0.5, 6);
  });
  it("are null where a slow meter did not see them", () => {
    const slow = verdictOnDraw(
      inputOf([traceOf([OFF, CLEAN_TOUCH, OFF, rise, ...watched(4000, 0.85, 1).slice(1)], { intervalMs: 50 })]),
    );
    expect(slow.features.chargeCoulombs).toBeNull();
    expect(slow.features.inputFarads).toBeNull();
    expect(slow.features.periodMs).toBeNull();
  });
  it("have no energy where most of it was not read together, and say at most how much", () => {
    const moving = watched(4000, (t) => (t % 200 < 100 ? 1 : 0.6));
    const verdict = verdictOnDraw(inputOf([traceOf([OFF, ...moving], { intervalMs: 60, together: false })]));
    expect(verdict.energyJoules).toBeNull();
    expect(verdict.because.join(" ")).toContain("at most");
  });
});
