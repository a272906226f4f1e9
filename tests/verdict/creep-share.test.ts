import { describe, expect, it } from "vitest";
import { creepShare } from "../../src/verdict/creep-share.ts";
import { verdictOnDraw } from "../../src/verdict/draw-verdict.ts";
import { LIMITS } from "../../src/verdict/verdict-limits.ts";
import { seeded } from "../analysis/series.ts";
import { CLEAN_TOUCH, inputOf, OFF, type TraceOptions, traceOf, watched } from "./synthetic.ts";

const verdictOf = (amps: (ms: number) => number, ms: number, options: TraceOptions) =>
  verdictOnDraw(inputOf([traceOf([OFF, CLEAN_TOUCH, OFF, ...watched(ms, amps, 3)], options)]));

/** One of each: meters by pace and step, watches by length. */
const LOOKS = [20, 100, 250].flatMap((intervalMs) =>
  [0.001, 0.01].flatMap((stepAmps) => [8, 15, 75].map((seconds) => ({ intervalMs, stepAmps, seconds }))),
);
const random = seeded(21);
const between = (low: number, high: number) => low + (high - low) * random();
const logBetween = (low: number, high: number) => Math.exp(between(Math.log(low), Math.log(high)));
const four = <T>(draw: () => T): T[] => Array.from({ length: 4 }, draw);

// A healthy board climbs by 2–8 % with a time constant of 60–300 s and flattens; a leaking die climbs ever faster: common practice, no source.
describe.each(LOOKS)(
  "read every $intervalMs ms in steps of $stepAmps A for $seconds s",
  ({ intervalMs, stepAmps, seconds }) => {
    it.each(four(() => ({ share: between(0.02, 0.08), tauMs: between(60_000, 300_000), level: between(0.72, 1) })))(
      "a board that warms by $share within $tauMs ms from $level A is never creeping",
      ({ share, tauMs, level }) => {
        const verdict = verdictOf((t) => level * (1 - share * Math.expm1(-t / tauMs)), seconds * 1000, {
          intervalMs,
          stepAmps,
          noiseAmps: 0.002,
        });
        expect(verdict.class, verdict.because.join(" ")).toBe("normal");
      },
    );
    // What this meter can see: the leak adds at least five steps, and a quarter of itself a minute at the least in a short watch.
    it.each(
      four(() => ({
        perMin: logBetween(seconds < 60 ? 0.6 : 0.15, 2),
        tauMs: between(20_000, 120_000),
        level: between(0.72, 0.9),
      })),
    )("a leak that begins with $perMin a minute and grows within $tauMs ms from $level A is creeping", (leak) => {
      const { perMin, tauMs, level } = leak;
      const climbs = (t: number) => Math.min(2.9, level * (1 + ((perMin * tauMs) / 60_000) * Math.expm1(t / tauMs)));
      const verdict = verdictOf(climbs, seconds * 1000, { intervalMs, stepAmps, noiseAmps: 0.002 });
      expect(verdict.class, verdict.because.join(" ")).toBe("creeping");
    });
  },
);

describe("creepShare()", () => {
  const climb = { perMin: 0.05, bendPerMin: -0.02, u: 0.005, bendU: 0.02, lengthMs: 60_000 };
  it("grows with the slope and with the bend, without a jump", () => {
    let before = 0;
    for (let perMin = 0; perMin <= 0.3; perMin += 0.002) {
      const share = creepShare({ ...climb, perMin, bendPerMin: 0 }, LIMITS);
      expect(share).toBeGreaterThanOrEqual(before - 0.02);
      expect(share - before).toBeLessThan(0.25);
      before = share;
    }
    expect(before).toBeGreaterThan(0.95);
    expect(creepShare({ ...climb, bendPerMin: 0.05 }, LIMITS)).toBeGreaterThan(creepShare(climb, LIMITS));
  });
  it("is the share of draws that creep where the readings say nothing", () => {
    const blind = { ...climb, perMin: 0, bendPerMin: 0, u: 1000, bendU: 4000, lengthMs: 8000 };
    expect(creepShare(blind, LIMITS)).toBeCloseTo(LIMITS.creepPrior, 2);
  });
});
