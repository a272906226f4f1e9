import { describe, expect, test } from "vitest";
import { type Load, runOnModel } from "./bench-model.ts";
import { kestrelCold, kestrelPlan } from "./example-plan.ts";
import { healthyFeeds } from "./healthy-feeds.ts";

/** A clamp: nothing under `volts`, then `ohms` (the case a technician tried: 125 mA at 3 V). */
const clamp =
  (volts: number, ohms: number): Load =>
  (at) =>
    Math.max(0, (at - volts) / ohms);

function held(
  load: Load,
  { holdLowMostAmps, intervalMs = 10 }: { holdLowMostAmps?: number; intervalMs?: number } = {},
) {
  const plan = kestrelPlan({ readIntervalMs: intervalMs, cold: kestrelCold, options: { watchSeconds: 1 } });
  const feeds = plan.feeds.map((feed) =>
    feed.feed === "aux" && holdLowMostAmps !== undefined ? { ...feed, holdLowMostAmps } : feed,
  );
  return runOnModel({
    plan: { ...plan, feeds },
    intervalMs,
    feeds: { ...healthyFeeds(), aux: { farads: 0.002, leadOhms: 0.05, load } },
    untilMs: 20_000,
  });
}

describe("the hold below lock-out", () => {
  test("stops a board that takes 125 mA at 3 V where 12.4 kΩ were read cold, before it gets 12 V", () => {
    for (const intervalMs of [10, 100]) {
      const run = held(clamp(1.5, 12), { intervalMs });
      expect(run.outcome).toMatchObject({
        ended: "board-stopped",
        output: "off",
        trip: { rule: "partial-short", feed: "aux", stage: "hold-low", board: true },
      });
      expect(run.outcome.trip?.because).toMatch(/12\d mA at 3 V/);
      expect(run.channels["aux"]?.mostVolts).toBeLessThan(3.1);
    }
  });
  test("lets linear regulators and LEDs conduct up to 30 mA (common practice, no source)", () => {
    expect(held(clamp(1.8, 60)).outcome.reachedStage).not.toBe("hold-low");
  });
  test("lets a board conduct what its board file says that good ones do", () => {
    expect(held(clamp(1.5, 12), { holdLowMostAmps: 0.15 }).outcome.trip?.stage).not.toBe("hold-low");
  });
  test("lasts half a second", () => {
    const run = held(clamp(1.8, 60));
    const on = run.effects.filter(({ effect }) => effect.effect === "configure" && effect.setting.volts === 3);
    const off = run.effects.filter(({ effect }) => effect.effect === "output-off");
    for (const { atMs } of on)
      expect(Math.min(...off.map((each) => each.atMs).filter((each) => each > atMs)) - atMs).toBeGreaterThanOrEqual(
        500,
      );
    expect(on.length).toBeGreaterThanOrEqual(2);
  });
});
