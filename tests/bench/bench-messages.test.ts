import { beforeEach, expect, test } from "vitest";
import { rigPlan, WireRig } from "./wire-rig.ts";

let rig: WireRig;

beforeEach(async () => {
  rig = new WireRig();
  const id = rig.connect();
  await rig.until(() => rig.isAnswered(id));
  expect(rig.said.filter((each) => each.type === "problem")).toEqual([]);
});

const ons = (): number => rig.log.filter((each) => each.what === "on").length;
const askedTimes = (count: number) => (): boolean => rig.questions.length >= count;
const ended = (): boolean => rig.outcomes.length > 0;
const answer = (yes = true): number => rig.tell({ type: "answer", question: rig.questions.at(-1)?.question ?? 0, yes });

test("a run with two feeds that a person switches goes to its planned end", async () => {
  rig.run(rigPlan(["a", "m", "b", "n"]));
  for (const count of [1, 2, 3, 4]) {
    expect(await rig.until(askedTimes(count))).toBe(true);
    answer();
  }
  expect(await rig.until(ended)).toBe(true);
  expect(rig.questions.map(({ asks, feed }) => `${asks} ${feed}`)).toEqual([
    "manual-on m",
    "manual-on n",
    "manual-off n",
    "manual-off m",
  ]);
  expect(rig.outcomes).toMatchObject([{ ended: "as-planned", trip: null, output: "off" }]);
  expect(rig.on).toEqual([]);
});

test("a stop while the run is being prepared ends it: nothing comes on afterwards", async () => {
  rig.armMs = 400;
  const run = rig.run(rigPlan(["a"]));
  await rig.until(() => false, 100);
  const stop = rig.tell({ type: "stop", by: "the page" });
  expect(rig.isAnswered(stop)).toBe(true);
  await rig.until(() => false, 10_000);
  expect(ons()).toBe(0);
  expect(rig.isAnswered(run)).toBe(true);
  expect(rig.bench.isIdle).toBe(true);
});

test("an answer that comes while a supply is asked why its output went off switches nothing on", async () => {
  rig.run(rigPlan(["a", "m", "b"]));
  expect(await rig.until(askedTimes(1))).toBe(true);
  expect(rig.on).toEqual([1]);
  const before = ons();
  rig.supply.press(1, false);
  const offs = (): number => rig.log.filter((each) => each.what === "off" && each.channel === 2).length;
  const offsBefore = offs();
  expect(await rig.until(() => offs() > offsBefore)).toBe(true);
  answer();
  // The person may have switched it on: they are asked to switch it off.
  expect(await rig.until(askedTimes(2))).toBe(true);
  expect(rig.questions[1]).toMatchObject({ asks: "manual-off", feed: "m" });
  expect([ons(), rig.on]).toEqual([before, []]);
  answer();
  expect(await rig.until(ended)).toBe(true);
  expect([ons(), rig.on]).toEqual([before, []]);
  expect(rig.outcomes).toMatchObject([{ ended: "failed", trip: { rule: "front-panel", feed: "a" } }]);
});

test("the same answer twice is taken once, also where the next question is open already", async () => {
  rig.run(rigPlan(["a", "m", "n"]));
  expect(await rig.until(askedTimes(1))).toBe(true);
  const [first] = rig.questions;
  answer();
  rig.tell({ type: "answer", question: first?.question ?? 0, yes: false });
  expect(await rig.until(askedTimes(2))).toBe(true);
  rig.tell({ type: "answer", question: first?.question ?? 0, yes: true });
  await rig.until(() => false, 200);
  expect(rig.questions.map((each) => each.feed)).toEqual(["m", "n"]);
  expect(rig.outcomes).toEqual([]);
  expect(rig.on).toEqual([1]);
});

test("the last answer twice is taken once: the watch goes on", async () => {
  rig.run(rigPlan(["a", "m"]));
  expect(await rig.until(askedTimes(1))).toBe(true);
  answer();
  answer();
  answer(false);
  expect(await rig.until(askedTimes(2))).toBe(true);
  answer();
  expect(await rig.until(ended)).toBe(true);
  expect(rig.outcomes).toMatchObject([{ ended: "as-planned", trip: null, output: "off" }]);
});

test("an answer to a question of the run before is not taken for one of this run", async () => {
  rig.run(rigPlan(["a", "m"]));
  expect(await rig.until(askedTimes(1))).toBe(true);
  const [old] = rig.questions;
  answer(false);
  expect(await rig.until(ended)).toBe(true);
  rig.run(rigPlan(["a", "m"]));
  expect(await rig.until(askedTimes(2))).toBe(true);
  rig.tell({ type: "answer", question: old?.question ?? 0, yes: true });
  await rig.until(() => false, 500);
  expect(rig.questions.length).toBe(2);
});

test("a question that no longer waits for an answer is told as withdrawn", async () => {
  rig.run(rigPlan(["a", "m"]));
  expect(await rig.until(askedTimes(1))).toBe(true);
  const open = (): (number | null)[] =>
    rig.said.flatMap((each) => (each.type === "events" ? [each.progress.question] : []));
  expect(open().at(-1)).toBe(rig.questions[0]?.question);
  rig.tell({ type: "cut", by: "a person" });
  expect(open().at(-1)).toBeNull();
  expect(await rig.until(askedTimes(2))).toBe(true);
  expect(open().at(-1)).toBe(rig.questions[1]?.question);
});

test("End in order while the board is watched switches off feed by feed, last one first, and is no trip", async () => {
  rig.run(rigPlan(["a", "b"], true));
  expect(await rig.until(() => rig.on.length === 2)).toBe(true);
  await rig.until(() => false, 150);
  const from = rig.log.length;
  rig.tell({ type: "stop", by: "the page" });
  expect(await rig.until(ended)).toBe(true);
  const offs = rig.log.slice(from).flatMap((each) => (each.what === "off" ? [each.channel] : []));
  expect(offs).toEqual([2, 1]);
  expect(rig.outcomes).toMatchObject([{ ended: "stopped-by-person", trip: null, output: "off" }]);
});

test("End in order while a feed comes up cuts", async () => {
  rig.run(rigPlan(["a", "b"]));
  expect(await rig.until(() => rig.on.length === 1)).toBe(true);
  const from = rig.log.length;
  rig.tell({ type: "stop", by: "the page" });
  expect(rig.log.slice(from).flatMap((each) => (each.what === "off" ? [each.channel] : []))).toContain(1);
  expect(rig.on).toEqual([]);
});

test("a stop before anything is on says off only once an output that a hand switched on is off too", async () => {
  rig.armMs = 90;
  rig.run(rigPlan(["a", "m"]));
  rig.supply.press(1, true);
  await rig.until(() => false, 95);
  rig.tell({ type: "stop", by: "the page" });
  expect(await rig.until(ended)).toBe(true);
  expect(rig.outcomes).toMatchObject([{ output: "off" }]);
  expect(rig.on).toEqual([]);
});

test("a cut during a run reaches a connected output that the plan does not name", async () => {
  rig.run(rigPlan(["a"], true));
  expect(await rig.until(() => rig.on.length === 1)).toBe(true);
  rig.supply.press(3, true);
  rig.tell({ type: "cut", by: "a person" });
  expect(rig.on).toEqual([]);
});

test("a connected output that the plan does not name and that somebody switches on during a run ends it", async () => {
  rig.run(rigPlan(["a"], true));
  expect(await rig.until(() => rig.on.length === 1)).toBe(true);
  await rig.until(() => false, 300);
  rig.supply.press(3, true);
  expect(await rig.until(() => rig.on.length === 0, 1000)).toBe(true);
  expect(await rig.until(ended)).toBe(true);
  expect(rig.outcomes).toMatchObject([{ ended: "failed", trip: { rule: "front-panel", feed: "c" } }]);
});

test("an output key pressed while the cut is being proved is said and cut again", async () => {
  rig.run(rigPlan(["a", "m"]));
  expect(await rig.until(askedTimes(1))).toBe(true);
  rig.tell({ type: "cut", by: "a person" });
  // The person is asked to switch m off, and the readings have said that a is off.
  expect(await rig.until(askedTimes(2))).toBe(true);
  await rig.until(() => false, 100);
  rig.supply.press(1, true);
  expect(await rig.until(() => rig.on.length === 0, 1000)).toBe(true);
  expect(await rig.until(askedTimes(3))).toBe(true);
  answer();
  expect(await rig.until(ended)).toBe(true);
  expect(rig.outcomes).toMatchObject([
    { ended: "stopped-by-person", output: "off", note: expect.stringContaining("a came on while") },
  ]);
});

test.each([
  ["no sender", { type: "cut", id: 77 }],
  ["a sender that is no text", { type: "cut", id: 77, by: 4 }],
  ["one key more", { type: "cut", id: 77, by: "x", lease: 9 }],
])("a cut with %s is done all the same", async (_, message) => {
  rig.run(rigPlan(["a"], true));
  expect(await rig.until(() => rig.on.length === 1)).toBe(true);
  rig.bench.receive(message);
  expect(rig.on).toEqual([]);
  expect(rig.isAnswered(77)).toBe(true);
});

test("a run keeps its number where the next one begins before its end is told", async () => {
  rig.run(rigPlan(["a"]));
  await rig.until(() => rig.on.length === 1);
  rig.tell({ type: "cut", by: "a person" });
  await rig.until(ended);
  rig.run(rigPlan(["a"]));
  await rig.until(() => rig.outcomes.length === 2);
  const numbers = rig.said.flatMap((each) => (each.type === "ended" ? [each.run] : []));
  expect(numbers).toEqual([1, 2]);
});

test("a run whose guardian is still starting when the daemon goes does not begin", async () => {
  rig.startMs = 300;
  rig.run(rigPlan(["a"]));
  await rig.until(() => false, 100);
  const gone = rig.bench.daemonGone("the daemon ended");
  let isLate = false;
  rig.clock.after(10_000, () => {
    isLate = true;
  });
  await rig.until(() => isLate);
  await gone;
  expect(ons()).toBe(0);
  expect(rig.bench.isIdle).toBe(true);
});

test("a cut that comes while the instruments are connected anew reaches each of them once they are there", async () => {
  rig.log.length = 0;
  const again = rig.connect();
  const isLookedAt = (channel: number) => () =>
    rig.log.some((each) => each.what === "measured" && each.channel === channel);
  expect(await rig.until(isLookedAt(3))).toBe(true);
  expect(rig.isAnswered(again)).toBe(false);
  // The first was found off; a hand comes after that.
  rig.supply.press(1, true);
  rig.tell({ type: "cut", by: "the page" });
  expect(await rig.until(() => rig.isAnswered(again))).toBe(true);
  expect(rig.on).toEqual([]);
});
