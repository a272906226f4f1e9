import { describe, expect, test } from "vitest";
import type { PlanEvent } from "../../shared/plan.ts";
import { NO_SETTINGS, raiseInWords, settingsAfter, settingsEnded } from "../../src/wire/settings-in-force.ts";

const configured = (atMs: number, limitAmps: number, setVolts = 12): PlanEvent => ({
  event: "configured",
  atMs,
  feed: "aux",
  setVolts,
  limitAmps,
  overVolts: 13.2,
});
const output = (atMs: number, state: "on" | "off"): PlanEvent => ({ event: "output", atMs, feed: "aux", state });
const settingsOf = (...events: PlanEvent[]) => events.reduce(settingsAfter, NO_SETTINGS);
const spans = (...events: PlanEvent[]) =>
  settingsOf(...events).spans.map(({ limitAmps, fromMs, untilMs }) => [limitAmps, fromMs, untilMs]);

describe("the settings of a run", () => {
  test("are in force from when they were read back and on, and not while the output is off", () => {
    expect(spans(configured(10, 3))).toEqual([]);
    expect(spans(configured(10, 3), output(20, "on"))).toEqual([[3, 20, null]]);
    expect(spans(configured(10, 3), output(20, "on"), output(90, "off"))).toEqual([[3, 20, 90]]);
  });

  test("change when another limit was read back, not when it was asked for", () => {
    expect(spans(configured(10, 0.3, 0.9), output(20, "on"), configured(50, 0.4, 0.9))).toEqual([
      [0.3, 20, 50],
      [0.4, 50, null],
    ]);
    expect(spans(configured(10, 3), output(20, "on"), configured(50, 3))).toEqual([[3, 20, null]]);
  });

  test("end with a cut and with the run, and a limit raised after a cut is the raised one", () => {
    const cut: PlanEvent = { event: "cut-done", atMs: 60, output: "off", because: "" };
    const raised = [configured(10, 3), output(20, "on"), cut, configured(900, 5), output(910, "on")];
    expect(spans(...raised)).toEqual([
      [3, 20, 60],
      [5, 910, null],
    ]);
    expect(settingsEnded(settingsOf(...raised), 1_000).spans.map((each) => each.untilMs)).toEqual([60, 1_000]);
  });

  test("that raise a limit are told in words, once, with both limits", () => {
    const known = settingsOf(configured(10, 3), output(20, "on"));
    expect(raiseInWords(known, configured(50, 5))).toBe("aux: the limit was raised from 3 A to 5 A, read back.");
    for (const event of [configured(50, 3), configured(50, 2), configured(50, 5, 3), output(60, "off")])
      expect(raiseInWords(known, event)).toBeNull();
  });
});
