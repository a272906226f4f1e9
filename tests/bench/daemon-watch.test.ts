import { expect, test } from "vitest";
import { DaemonWatch } from "../../src/bench/daemon-watch.ts";
import { HandClock } from "../hand-clock.ts";

const LOOK_MS = 25;

function watched(more: { sleptMs?: () => number } = {}) {
  const clock = new HandClock();
  const watch = new DaemonWatch({ clock, beatLimitMs: 250, ...more });
  watch.hello(7);
  /** Looks as the bench process does, for so long; answers what it found. */
  const lookFor = (ms: number, { isIdle = false } = {}) => {
    const found = [];
    for (const endMs = clock.nowMs() + ms; clock.nowMs() < endMs; ) {
      clock.advance(LOOK_MS);
      const each = watch.look(isIdle);
      if (each !== null) found.push(each);
    }
    return found;
  };
  return { clock, watch, lookFor };
}

test("a daemon silent for longer than its limit ends a run once, and again after it was heard in between", () => {
  const { watch, lookFor } = watched();
  expect(lookFor(250)).toEqual([]);
  expect(lookFor(1000)).toMatchObject([{ event: "lease-lost" }]);
  watch.beat(7);
  expect(lookFor(200)).toEqual([]);
  expect(lookFor(1000)).toMatchObject([{ event: "lease-lost" }]);
});

test("a silence from before a run ends it as soon as it is on", () => {
  const { lookFor } = watched();
  expect(lookFor(1000, { isIdle: true })).toEqual([]);
  expect(lookFor(LOOK_MS)).toMatchObject([{ event: "lease-lost" }]);
});

test("beats of another lease are not heard, and its commands are refused", () => {
  const { clock, watch, lookFor } = watched();
  watch.beat(6);
  const deadlineMs = clock.nowMs() + 100;
  expect(watch.refusal({ lease: 6, deadlineMs, type: "run" })?.message).toMatch(/lease 6.*nothing was sent/);
  expect(watch.refusal({ lease: 7, deadlineMs, type: "run" })).toBeUndefined();
  lookFor(125);
  expect(watch.refusal({ lease: 7, deadlineMs, type: "run" })?.message).toMatch(/after its deadline; nothing was sent/);
  expect(lookFor(250)).toMatchObject([{ event: "lease-lost" }]);
});

test("a machine that slept for more than two seconds ends a run, however much of it the clock shows", () => {
  let sleptMs = 0;
  const { watch, lookFor } = watched({ sleptMs: () => sleptMs });
  expect(lookFor(100)).toEqual([]);
  sleptMs += 1900;
  watch.beat(7);
  expect(lookFor(LOOK_MS)).toEqual([]);
  sleptMs += 2100;
  expect(lookFor(LOOK_MS)).toEqual([{ event: "clock-gap", gapMs: 2100 }]);
});
