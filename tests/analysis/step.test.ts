import { describe, expect, test } from "vitest";
import { shareBelow } from "../../src/analysis/clopper-pearson.ts";
import { oscillationOf } from "../../src/analysis/step/oscillation.ts";
import { stateLevelsOf } from "../../src/analysis/step/state-levels.ts";
import { stepTimesOf } from "../../src/analysis/step/step-times.ts";

// Edges whose times are known from their formulas.
const trace = (n: number, stepMs: number, volts: (ms: number) => number) => {
  const atMs = Float64Array.from({ length: n }, (_, i) => i * stepMs);
  return { atMs, values: atMs.map(volts) };
};
const times = (of: ReturnType<typeof trace>) => {
  const found = stepTimesOf(of.atMs, of.values);
  if (found === null) throw new Error("no step was found");
  return found;
};
/** Even noise from a fixed seed (Park and Miller's generator), standard deviation 1. */
function noise(): () => number {
  let state = 1;
  return () => {
    state = (state * 48271) % 2147483647;
    return (state / 2147483647 - 0.5) * Math.sqrt(12);
  };
}

test("an exponential rises from 10 to 90 % in ln 9 = 2.197 time constants and begins 0.105 after its start", () => {
  const tau = 2;
  const found = times(trace(100_000, 0.001, (ms) => (ms < 10 ? 0 : 5 * (1 - Math.exp(-(ms - 10) / tau)))));
  expect(found.high).toBeCloseTo(5, 3);
  expect(found.p90.atMs - found.p10.atMs).toBeCloseTo(tau * Math.log(9), 2);
  expect(found.begins.atMs).toBeCloseTo(10 + tau * Math.log(10 / 9), 2);
  // Within 2 % after ln 50 time constants, counted from 50 %, which is at ln 2.
  expect(found.settlesMs).toBeCloseTo(tau * (Math.log(50) - Math.log(2)), 1);
  expect(found.overshoot).toBe(0);
});

test("a ramp of 10 ms rises in 8 ms, whatever it ends at", () => {
  for (const volts of [0.85, 12]) {
    const found = times(trace(5000, 0.01, (ms) => volts * Math.min(1, Math.max(0, (ms - 5) / 10))));
    expect(found.p90.atMs - found.p10.atMs).toBeCloseTo(8, 2);
    expect(found.begins.atMs).toBeCloseTo(6, 2);
    expect(found.settlesMs).toBeCloseTo(4.8, 1);
  }
});

test.each([0.2, 0.4, 0.6])("a second-order ring of damping %f overshoots by exp(-πζ/√(1-ζ²))", (zeta) => {
  const omega = 2 * Math.PI;
  const damped = omega * Math.sqrt(1 - zeta * zeta);
  const ring = (ms: number): number => {
    const t = ms - 3;
    if (t < 0) return 0;
    const decay = Math.exp(-zeta * omega * t);
    return 1.8 * (1 - decay * (Math.cos(damped * t) + ((zeta * omega) / damped) * Math.sin(damped * t)));
  };
  const found = times(trace(60_000, 0.001, ring));
  expect(found.overshoot).toBeCloseTo(Math.exp((-Math.PI * zeta) / Math.sqrt(1 - zeta * zeta)), 3);
  // The envelope is within 2 % after ln(1/(0.02·√(1-ζ²)))/(ζω); the last entry is no later and within a period of it.
  const envelopeMs = Math.log(1 / (0.02 * Math.sqrt(1 - zeta * zeta))) / (zeta * omega);
  const settledAfterStart = (found.settlesMs ?? Number.NaN) + found.p50.atMs - 3;
  expect(settledAfterStart).toBeLessThanOrEqual(envelopeMs + 0.01);
  expect(settledAfterStart).toBeGreaterThan(envelopeMs - 1);
});

test("with noise of 1 % the times stay within their own expanded uncertainty in 95 of 100 traces", () => {
  const random = noise();
  const tau = 1;
  let within = 0;
  for (let i = 0; i < 100; i++) {
    const found = times(
      trace(3000, 0.01, (ms) => (ms < 10 ? 0 : 3.3 * (1 - Math.exp(-(ms - 10) / tau))) + 0.033 * random()),
    );
    const u = 2 * Math.hypot(found.p10.standardMs, found.p90.standardMs);
    if (Math.abs(found.p90.atMs - found.p10.atMs - tau * Math.log(9)) <= u) within++;
  }
  expect(within).toBeGreaterThanOrEqual(95);
});

test("a level, noise about a level, and too few samples are no step", () => {
  const random = noise();
  expect(stepTimesOf(...columns(trace(1000, 1, () => 3.3)))).toBeNull();
  expect(stateLevelsOf(new Float64Array([1, 2]))).toBeNull();
  expect(stateLevelsOf(new Float64Array([Number.NaN, Number.NaN, Number.NaN]))).toBeNull();
  const flat = trace(1000, 1, () => 0.01 * random());
  const found = stepTimesOf(flat.atMs, flat.values);
  expect(found === null || found.high - found.low < 0.1).toBe(true);
});
const columns = ({ atMs, values }: ReturnType<typeof trace>) => [atMs, values] as const;

describe("a clock", () => {
  test("is stable from the end of its last pause", () => {
    const clock = (ms: number): number =>
      ms < 5 || (ms > 8 && ms < 9) ? 0 : Math.sin(2 * Math.PI * 10 * ms) > 0 ? 1.8 : 0;
    const { atMs, values } = trace(20_000, 0.001, clock);
    const found = oscillationOf(atMs, values);
    expect(found?.periodMs).toBeCloseTo(0.1, 2);
    expect(found?.beginsMs).toBeCloseTo(5, 1);
    expect(found?.stableMs).toBeCloseTo(9, 1);
  });
  test("that only rises once is none", () => {
    const { atMs, values } = trace(1000, 0.01, (ms) => (ms > 5 ? 1.8 : 0));
    expect(oscillationOf(atMs, values)).toBeNull();
  });
});

describe("the bound of Clopper and Pearson", () => {
  // With no failure the exact bound is 1 − 0.05^(1/n): 0.0582 for 50 (the "rule of three" says 0.06).
  test.each([
    [0, 50, 1 - 0.05 ** (1 / 50)],
    [0, 8, 1 - 0.05 ** (1 / 8)],
    // One-sided 95 % upper limits for n = 10 and 20 (binomial confidence tables, from memory; the same as the upper ends of
    // two-sided 90 % intervals): 1 of 10 0.3942, 2 of 10 0.5069, 1 of 20 0.2161, 3 of 20 0.3437.
    [1, 10, 0.3942],
    [2, 10, 0.5069],
    [1, 20, 0.2161],
    [3, 20, 0.3437],
  ])("%i of %i fail", (failures, n, bound) => {
    expect(shareBelow(failures, n)).toBeCloseTo(bound, 4);
  });
  test("all that failed say nothing, and nothing done says nothing", () => {
    expect(shareBelow(4, 4)).toBe(1);
    expect(shareBelow(0, 0)).toBeNaN();
  });
  test("ten thousand starts do not vanish in rounding", () => {
    expect(shareBelow(0, 10_000)).toBeCloseTo(1 - 0.05 ** (1 / 10_000), 8);
    // About (k + 1.645·√(k + 1) …)/n by the gamma bound of a Poisson count: 57.49 for 45 (tables of the chi-square, 92 degrees).
    expect(shareBelow(45, 10_000)).toBeCloseTo(0.00576, 4);
  });
});
