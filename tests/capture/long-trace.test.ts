import { describe, expect, it } from "vitest";
import type { DrawTrace } from "../../shared/draw-input.ts";
import { integralOf } from "../../src/analysis/integrals.ts";
import { TraceColumns, type TraceRow } from "../../src/capture/trace-columns.ts";
import { verdictOnDraw } from "../../src/verdict/draw-verdict.ts";
import { soakFigures } from "../../src/verdict/soak-figures.ts";
import { gaussian, seeded } from "../analysis/series.ts";
import { inputOf } from "../verdict/synthetic.ts";

const INTERVAL_MS = 0.3;
const ROWS = 20_000;
const MOST = 4000;
/** 2 mF charged at 1 A to 12 V takes 24 ms; then `amps`. */
const drawn =
  (amps: (ms: number) => number) =>
  (ms: number): TraceRow => ({ atMs: ms, volts: Math.min(12, ms / 2), amps: ms < 24 ? 1 : amps(ms) });

function filled(mostRows: number, row: (ms: number) => TraceRow): { trace: DrawTrace; longest: number } {
  const columns = new TraceColumns("in12", mostRows);
  const noise = gaussian(seeded(3));
  let longest = 0;
  for (let i = 0; i < ROWS; i++) {
    const next = row(i * INTERVAL_MS);
    columns.push({ ...next, amps: next.amps + 0.002 * noise() });
    longest = Math.max(longest, columns.length);
  }
  return { trace: columns.trace(), longest };
}

const judged = (trace: DrawTrace) => verdictOnDraw(inputOf([trace], { limitAmps: 1 }));

describe("a trace longer than is held", () => {
  const draws: [string, (ms: number) => number][] = [
    ["a settled one", () => 0.85],
    ["one that retries every 500 ms", (ms) => (ms % 500 < 60 ? 0.9 : 0.05)],
    ["one that creeps", (ms) => 0.7 * Math.exp(ms / 60_000)],
    ["one between the bands", () => 0.62],
  ];
  it.each(draws)("keeps verdict, charge, time in limit, peak and pace: %s", (_, amps) => {
    const whole = filled(Number.POSITIVE_INFINITY, drawn(amps)).trace;
    const { trace, longest } = filled(MOST, drawn(amps));
    expect(whole.atMs.length).toBe(ROWS);
    expect(longest).toBeLessThanOrEqual(MOST);
    const [seen, all] = [judged(trace), judged(whole)];
    expect(seen.class).toBe(all.class);
    expect(seen.sub).toBe(all.sub);
    expect(seen.features.sampleIntervalMs).toBeCloseTo(INTERVAL_MS, 9);
    expect(integralOf(trace.atMs, trace.amps) / integralOf(whole.atMs, whole.amps)).toBeCloseTo(1, 3);
    for (const figure of [
      "plateauAmps",
      "peakAmps",
      "chargeCoulombs",
      "inputFarads",
      "limitedMs",
      "periodMs",
    ] as const) {
      if (all.features[figure] === null) expect(seen.features[figure]).toBeNull();
      else expect((seen.features[figure] ?? 0) / all.features[figure], figure).toBeCloseTo(1, 1.5);
    }
  });
  it("keeps a single reading that stands out, and a marker where no number came", () => {
    const spike = (ms: number): TraceRow => {
      const row = drawn(() => 0.85)(ms);
      const i = Math.round(ms / INTERVAL_MS);
      return i === 5001 ? { ...row, amps: 3 } : i === 9001 ? { ...row, amps: Number.NaN } : row;
    };
    const { trace } = filled(MOST, spike);
    expect(Math.max(...trace.amps.filter(Number.isFinite))).toBeCloseTo(3, 1);
    expect(trace.amps.filter(Number.isNaN).length).toBe(1);
  });
  it("does not close a gap", () => {
    const columns = new TraceColumns("in12", 1000);
    for (let i = 0; i < 5000; i++) columns.push({ atMs: i + (i >= 500 ? 4000 : 0), volts: 12, amps: 0.85 });
    const { atMs } = columns.trace();
    const widest = atMs.reduce((most, ms, i) => (i === 0 ? 0 : Math.max(most, ms - (atMs[i - 1] ?? 0))), 0);
    expect(atMs.length).toBeLessThanOrEqual(1000);
    expect(widest).toBeGreaterThan(3900);
  });
  it("never mixes what was set differently", () => {
    const columns = new TraceColumns("in12", 1000);
    for (let i = 0; i < 5000; i++) {
      columns.push({ atMs: i, volts: 12, amps: 0.85, mode: i % 2 === 0 ? "cv" : "cc", setVolts: 12 });
    }
    const trace = columns.trace();
    // Nothing can be joined here, so all is kept.
    expect(trace.atMs.length).toBe(5000);
    expect(trace.mode?.reduce((sum, mode) => sum + mode, 0)).toBe(7500);
  });
});

describe("a mode that is asked now and then", () => {
  it("does not keep level rows apart, and none is made up where rows were thinned away", () => {
    const columns = new TraceColumns("in12", MOST);
    const noise = gaussian(seeded(7));
    let longest = 0;
    for (let i = 0; i < 5 * ROWS; i++) {
      const amps = (i < ROWS ? 1 : 0.85) + 0.002 * noise();
      const mode = i % 8 === 0 ? (i < ROWS ? "cc" : "cv") : "unknown";
      columns.push({ atMs: i * INTERVAL_MS, volts: 12, amps, mode });
      longest = Math.max(longest, columns.length);
    }
    expect(longest).toBeLessThanOrEqual(MOST);
    const { atMs, mode } = columns.trace();
    const modes = Array.from(atMs, (ms, row) => ({ late: ms >= ROWS * INTERVAL_MS, mode: mode?.[row] }));
    expect(modes.filter((each) => each.late && each.mode === 2)).toEqual([]);
    expect(modes.filter((each) => !each.late && each.mode === 1)).toEqual([]);
    expect(modes.filter((each) => each.mode === 1).length).toBeGreaterThan(100);
  });
});

describe("the drift of a long watch", () => {
  it("is by time, also where its beginning was thinned more often than its end", () => {
    // Climbs for the first half, then stays: 0.1 A in three seconds.
    const climbs = (ms: number): number => 0.85 + 0.1 * Math.min(1, ms / 3000);
    const row = (ms: number): TraceRow => ({ atMs: ms, volts: 12, amps: climbs(ms), stage: "watch" });
    const of = (mostRows: number) => {
      const { trace } = filled(mostRows, row);
      return soakFigures([trace], { askedSeconds: 6 }).feeds["in12"];
    };
    const [whole, thinned] = [of(Number.POSITIVE_INFINITY), of(MOST)];
    expect(whole?.firstHalfAmpsPerMin).toBeCloseTo(2, 1);
    expect(thinned?.firstHalfAmpsPerMin).toBeCloseTo(2, 1);
    expect(Math.abs(thinned?.secondHalfAmpsPerMin ?? 9)).toBeLessThan(0.05);
  });
});
