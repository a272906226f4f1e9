import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { TraceStore } from "../../web/page/trace-store.ts";
import { curveIn } from "../../web/plot/curve-file.ts";
import { type PlotPane, placeAt, reachOf, valueAt } from "../../web/plot/plot-series.ts";
import { isWhole, moved, within, zoomed } from "../../web/plot/plot-span.ts";
import { cursorWords, differenceWords } from "../../web/plot/plot-words.ts";
import { inSteps, roundStep, timeStep } from "../../web/plot/round-step.ts";
import { runPanes } from "../../web/plot/run-panes.ts";
import { watchedRun, watchedTrace } from "../browser/example-run.ts";

const WHOLE = { from: 0, to: 100 };
const spans = fc
  .tuple(fc.double({ min: 0, max: 100, noNaN: true }), fc.double({ min: 0.01, max: 100, noNaN: true }))
  .map(([from, width]) => within({ from, to: from + width }, WHOLE));

describe("a window of a plot", () => {
  test("never leaves the whole, however it is moved and narrowed", () => {
    fc.assert(
      fc.property(
        spans,
        fc.double({ min: -300, max: 300, noNaN: true }),
        fc.double({ min: 0.01, max: 50, noNaN: true }),
        (span, by, factor) => {
          for (const next of [moved(span, WHOLE, by), zoomed(span, WHOLE, { at: by, factor })]) {
            expect(next.from).toBeGreaterThanOrEqual(0);
            expect(next.to).toBeLessThanOrEqual(100 + 1e-9);
            expect(next.to).toBeGreaterThan(next.from);
          }
        },
      ),
    );
  });

  test("looked at closer keeps what is under the hand where it is", () => {
    const closer = zoomed({ from: 20, to: 60 }, WHOLE, { at: 30, factor: 0.5 });
    expect((30 - closer.from) / (closer.to - closer.from)).toBeCloseTo(0.25, 9);
    expect(closer.to - closer.from).toBeCloseTo(20, 9);
    expect(isWhole(zoomed(closer, WHOLE, { at: 30, factor: 100 }), WHOLE)).toBe(true);
  });
});

const pane = (mean: (number | null)[], most: number | null = null): PlotPane => ({
  id: "amps",
  unit: "A",
  least: 0.1,
  series: [{ name: "aux", seconds: mean.map((_, at) => at), mean, look: 0 }],
  bounds: most === null ? [] : [{ fromSeconds: 0, untilSeconds: null, most, set: null }],
  band: null,
});

describe("the height of a plot", () => {
  test("holds zero and every limit where all of it is shown, and fits what is read in a narrower window", () => {
    const limited = pane([1.2, 1.21, 1.19, 1.2], 3);
    const all = reachOf(limited, { from: 0, to: 3 }, true);
    expect([all.low, all.high > 3]).toEqual([0, true]);
    const close = reachOf(limited, { from: 1, to: 2 }, false);
    expect(close.low).toBeGreaterThan(1.1);
    expect(close.high).toBeLessThan(1.3);
    expect(reachOf(pane([-0.4, 5]), { from: 0, to: 1 }, true).low).toBe(-0.4);
    expect(reachOf(pane([]), { from: 0, to: 1 }, false)).toMatchObject({ low: expect.any(Number) });
  });

  test("has round marks, of a clock where they are minutes, and no more digits than they need", () => {
    expect([roundStep(3.4, 4), roundStep(15, 6), roundStep(0.11, 3)]).toEqual([1, 2.5, 0.05]);
    expect([timeStep(15, 6), timeStep(900, 6), timeStep(86_400, 8)]).toEqual([2.5, 300, 14_400]);
    expect([inSteps(7.5, 2.5), inSteps(0.25, 0.25), inSteps(-1e-9, 0.1), inSteps(20, 10)]).toEqual([
      "7.5",
      "0.25",
      "0.0",
      "20",
    ]);
  });
});

describe("a cursor", () => {
  const panes = [pane([0, null, 1.21]), { ...pane([0.9, 3, 12.02]), id: "volts", unit: "V" }];

  test("reads what was read last before it", () => {
    expect(placeAt([0, 1, 2], -0.1)).toBe(-1);
    const [amps] = panes[0]?.series ?? [];
    expect(amps && [valueAt(amps, 0.5), valueAt(amps, 1.5), valueAt(amps, 9)]).toEqual([0, null, 1.21]);
    expect(cursorWords(panes, 2, 10)).toBe("2.000 s: aux 1.21 A, 12 V");
    expect(cursorWords(panes, 1.5, 10)).toBe("1.500 s: aux no A, 3 V");
  });

  test("beside another says what changed from the earlier to the later, whichever was put down first", () => {
    const words = "From 0.000 s, 2.000 s later: aux +1.21 A, +11.1 V";
    expect(differenceWords(panes, [0, 2], 10)).toBe(words);
    expect(differenceWords(panes, [2, 0], 10)).toBe(words);
  });
});

describe("the panes of a run", () => {
  const store = new TraceStore();
  const run = { ...watchedRun(), goodBoards: { of: ["aux"], lowAmps: 1.1, highAmps: 1.3, boards: 4 } };
  store.show(run, [
    { feed: "aux", readings: watchedTrace() },
    { feed: "slot12", readings: watchedTrace() },
  ]);

  test("of one feed have its limits and the band of good boards; of all feeds only their curves", () => {
    const [amps, volts] = runPanes({ store, run, feeds: ["aux"], points: null }).panes;
    expect(amps?.bounds.map((each) => each.most)).toEqual([0.3, 0.3, 3]);
    expect(volts?.bounds.map((each) => each.set)).toEqual([0.9, 3, 12]);
    expect(amps?.band).toEqual({ low: 1.1, high: 1.3 });
    const [all] = runPanes({ store, run, feeds: ["aux", "slot12"], points: null }).panes;
    expect(all?.series.map(({ name, look }) => [name, look])).toEqual([
      ["aux", 0],
      ["slot12", 1],
    ]);
    expect([all?.bounds, all?.band]).toEqual([[], null]);
  });

  test("of a window that the record has more readings of show their least and greatest", () => {
    const levels = { least: [1], most: [2], mean: [1.5] };
    const points = {
      capture: "c",
      beginsMs: 0,
      endsMs: 100,
      feeds: [{ feed: "aux", atMs: [10], untilMs: [30], count: [5], volts: levels, amps: levels }],
    };
    const [amps] = runPanes({ store, run, feeds: ["aux"], points }).panes;
    expect(amps?.series[0]).toMatchObject({ seconds: [0.02], mean: [1.5], least: [1], most: [2] });
  });
});

describe("a table over time", () => {
  // The shapes that oscilloscopes and loggers write (common practice, no source).
  test("is read with its settings before it, its time in its own unit, and an axis for each unit", () => {
    const curve = curveIn('Model,X\nRecord length,3\nTime (ms),core (V),"I_A"\n0,0.01,0\n1,0.5,0.2\n2,0.85,9.9E37\n');
    if (!curve.ok) throw new Error(curve.because);
    expect([curve.from, curve.to]).toEqual([0, 0.002]);
    expect(curve.panes.map(({ unit, series }) => [unit, series[0]?.name, series[0]?.mean])).toEqual([
      ["V", "core (V)", [0.01, 0.5, 0.85]],
      ["A", "I_A", [0, 0.2, null]],
    ]);
  });

  test("with decimal commas is read where semicolons are between its columns", () => {
    const curve = curveIn("t;CH1\n0,000;1,5\n0,001;1,6\n");
    expect(curve.ok && curve.panes[0]?.series[0]?.mean).toEqual([1.5, 1.6]);
  });

  test("of many rows keeps a needle of one of them", () => {
    const rows = Array.from({ length: 50_000 }, (_, at) => `${at / 1000},${at === 31_234 ? 7 : 0}`);
    const curve = curveIn(`time_s,volts\n${rows.join("\n")}`);
    if (!curve.ok) throw new Error(curve.because);
    const [series] = curve.panes[0]?.series ?? [];
    expect(series?.seconds.length).toBeLessThanOrEqual(4_000);
    expect(Math.max(...(series?.most ?? []).map((each) => each ?? 0))).toBe(7);
  });

  test("that is none says why", () => {
    expect(curveIn("dear owner\nit works")).toMatchObject({ ok: false });
    expect(curveIn("time,volts\n1,0\n0,1\n")).toEqual({ ok: false, because: 'Its column "time" goes back in time.' });
  });
});
