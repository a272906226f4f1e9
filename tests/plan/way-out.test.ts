import { expect, test } from "vitest";
import type { PlanEvent } from "../../shared/plan.ts";
import { type BenchModelOptions, runOnModel } from "./bench-model.ts";
import { kestrelPlan } from "./example-plan.ts";
import { healthyFeeds } from "./healthy-feeds.ts";

const plan = kestrelPlan({ options: { watchSeconds: 3, keepOn: true } });
const end = (ms: number): { ms: number; event: PlanEvent } => ({
  ms,
  event: { event: "end", atMs: 0, by: "the page" },
});

/** Leaves every off of aux from 9 s on without an answer; `leavingMs` is when the last of them was asked for, ms. */
function auxStaysOn(): { spoil: NonNullable<BenchModelOptions["spoil"]>; leavingMs: () => number } {
  let leavingMs = Number.POSITIVE_INFINITY;
  return {
    spoil: (effect, atMs) => {
      if (effect.effect !== "output-off" || effect.feed !== "aux" || atMs < 8999) return null;
      leavingMs = atMs;
      return "silence";
    },
    leavingMs: () => leavingMs,
  };
}

test("a person's end of a hold goes off in reverse order, as planned and without a trip", () => {
  const run = runOnModel({ plan, feeds: healthyFeeds(), at: [end(9000)] });
  const offs = run.effects.flatMap(({ effect }) => (effect.effect === "output-off" ? [effect.feed] : []));
  expect(offs.slice(-3)).toEqual(["aux", "slot12", "slot3v3"]);
  expect(run.effects.filter(({ effect }) => effect.effect === "cut")).toEqual([]);
  expect(run.outcome).toMatchObject({ ended: "as-planned", trip: null, output: "off" });
});

test("a person's end of the watch does so too, and is told as theirs", () => {
  const run = runOnModel({ plan, feeds: healthyFeeds(), at: [end(4000)] });
  expect(run.effects.filter(({ effect }) => effect.effect === "cut")).toEqual([]);
  expect(run.outcome).toMatchObject({ ended: "stopped-by-person", trip: null, output: "off" });
  expect(run.outcome.note).toContain("the page");
});

test("a feed that is still on is cut for its limit while another one does not go off", () => {
  const aux = auxStaysOn();
  const run = runOnModel({
    plan,
    feeds: healthyFeeds(),
    at: [end(9000)],
    spoil: aux.spoil,
    spoilReading: (reading) =>
      reading.feed === "slot12" && reading.atMs > aux.leavingMs()
        ? { ...reading, volts: { kind: "value", volts: 3 }, amps: { kind: "value", amps: 2 }, mode: "cc" }
        : reading,
  });
  expect(run.outcome).toMatchObject({ ended: "board-stopped", output: "off", trip: { feed: "slot12" } });
  // Longest time in the limit that a plan allows is a second; the feed that does not go off would be cut after four.
  expect((run.outcome.trip?.atMs ?? 0) - aux.leavingMs()).toBeLessThan(1500);
});

test("a feed that creeps while another one does not go off is cut for it, as it would have been in the watch", () => {
  const aux = auxStaysOn();
  // Means of one second that grow by more each time; no one of them is a step.
  const factors = [1, 1.09, 1.25, 1.5, 1.9, 2.4];
  const run = runOnModel({
    plan,
    feeds: healthyFeeds(),
    at: [end(9000)],
    spoil: aux.spoil,
    spoilReading: (reading) => {
      const factor = factors[Math.max(0, Math.min(5, Math.ceil((reading.atMs - 7000) / 1000)))] ?? 1;
      if (reading.feed !== "slot12" || reading.amps.kind !== "value") return reading;
      return { ...reading, amps: { kind: "value", amps: 0.6 * factor * reading.amps.amps } };
    },
  });
  expect(run.outcome).toMatchObject({
    ended: "board-stopped",
    output: "off",
    trip: { rule: "creeping", feed: "slot12" },
  });
  expect((run.outcome.trip?.atMs ?? 0) - aux.leavingMs()).toBeLessThan(4000);
});
