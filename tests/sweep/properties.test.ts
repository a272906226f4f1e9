import fc from "fast-check";
import { describe, expect, test } from "vitest";
import type { SweepEffect, SweepEvent } from "../../shared/sweep.ts";
import { advanceSweep } from "../../src/sweep/advance-sweep.ts";
import { NOT_BEGUN, type SweepState } from "../../src/sweep/sweep-state.ts";
import { point } from "./one-point.ts";

const points = [point("5v", 5), point("1v8", 1.8), point("core", 0.85), point("dead", 3.3)];

/** A stretch of what may happen: readings of a value for a while, or a word, or the power going. */
const stretch = fc.oneof(
  {
    weight: 8,
    arbitrary: fc.record({
      volts: fc.constantFrom(0, 0, 0, 5, 1.8, 0.85, 0.002, 12),
      readings: fc.integer({ min: 1, max: 14 }),
    }),
  },
  { weight: 2, arbitrary: fc.constantFrom("take" as const, "skip" as const, "redo" as const, "cannot-reach" as const) },
  { weight: 1, arbitrary: fc.constantFrom("pause" as const, "resume" as const, "tick" as const) },
);

interface Step {
  event: SweepEvent;
  effects: SweepEffect[];
  before: SweepState;
}

function runThrough(stretches: (typeof stretch extends fc.Arbitrary<infer T> ? T : never)[]): Step[] {
  let state: SweepState = { ...NOT_BEGUN, queue: points.map((_, index) => index) };
  let atMs = 0;
  const steps: Step[] = [];
  const take = (event: SweepEvent): void => {
    const before = state;
    const step = advanceSweep({ points, hasMeter: true }, state, event);
    state = step.state;
    steps.push({ event, effects: step.effects, before });
  };
  take({ event: "begin", atMs });
  for (const each of stretches) {
    if (typeof each === "string") {
      if (each === "pause" || each === "resume" || each === "tick") take({ event: each, atMs });
      else take({ event: "say", atMs, word: each });
      continue;
    }
    for (let reading = 0; reading < each.readings; reading++) {
      const queriedAtMs = atMs;
      atMs += 50;
      const value = each.volts + 0.0002 * Math.sin(atMs);
      take({
        event: "reading",
        atMs,
        reading: {
          queriedAtMs,
          atMs,
          function: "volts",
          channel: null,
          kind: "value",
          value,
          halfWidth: 0.002,
          leadNullOhms: null,
          nodeVolts: null,
        },
      });
    }
  }
  return steps;
}

describe("whatever the hand does", () => {
  test("a value taken by contact is what was read for the 300 ms before it, after its point was named", () => {
    let values = 0;
    fc.assert(
      fc.property(fc.array(stretch, { minLength: 5, maxLength: 40 }), (stretches) => {
        const steps = runThrough(stretches);
        const named = new Set<number>();
        for (const [at, { event, effects }] of steps.entries()) {
          for (const effect of effects) {
            if (effect.effect === "place-probe") named.add(effect.index);
            if (effect.effect !== "captured" || effect.capture.how !== "contact") continue;
            const { index, value } = effect.capture;
            values++;
            expect(named.has(index)).toBe(true);
            const window = steps
              .slice(0, at + 1)
              .flatMap((each) => (each.event.event === "reading" ? [each.event] : []))
              .filter((each) => each.atMs >= event.atMs - 300);
            for (const { reading } of window)
              expect(Math.abs((reading.value ?? 99) - (value ?? 0))).toBeLessThan(0.005);
            expect(Math.abs(value ?? 0)).toBeGreaterThan(0.004);
          }
        }
      }),
      { numRuns: 400, seed: 20261125 },
    );
    expect(values).toBeGreaterThan(100);
  });

  test("each value is its point's, none comes while the board is off, nothing follows the end", () => {
    fc.assert(
      fc.property(fc.array(stretch, { minLength: 5, maxLength: 60 }), (stretches) => {
        let isOver = false;
        for (const { effects, before } of runThrough(stretches)) {
          if (isOver) expect(effects).toEqual([]);
          for (const effect of effects) {
            if (effect.effect === "captured") {
              expect(effect.capture.index).toBe(before.queue[0]);
              expect(before.phase.phase).not.toBe("paused");
            }
            if (effect.effect === "finished") isOver = true;
          }
        }
      }),
      { numRuns: 400, seed: 20261125 },
    );
  });
});
