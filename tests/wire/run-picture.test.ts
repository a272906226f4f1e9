import { expect, test } from "vitest";
import type { Plan, RunOutcome } from "../../shared/plan.ts";
import { WireRun } from "../../shared/wire.ts";
import { pictureAt, pictureEnded, runPicture } from "../../src/wire/run-picture.ts";

const setting = (volts: number, limitAmps: number, overVolts: number, maxMs: number) => ({
  volts,
  limitAmps,
  overVolts,
  maxMs,
});
const feed = (name: string, order: number, holdLow: boolean): Plan["feeds"][number] => ({
  feed: name,
  order,
  supply: "psu",
  channel: order,
  nominalVolts: 12,
  tolerance: [-0.08, 0.05],
  limitAmps: 5,
  maxVolts: 13.2,
  leadOhms: null,
  sense: "local",
  readsAtSense: "unknown",
  stepVolts: null,
  stepAmps: null,
  offsetAmps: null,
  hasOverVoltage: true,
  hasOverCurrent: true,
  supplyRiseMs: 50,
  readIntervalMs: 50,
  inputFaradsMax: 0.005,
  coldOhms: null,
  touch: setting(0.9, 0.3, 1.5, 1500),
  holdLow: holdLow ? setting(3, 0.3, 3.45, 500) : null,
  nominal: setting(12, 3, 13.2, 15_000),
  ladderAmps: [5],
  twoLimitAmps: [0.2, 0.4],
  allowedLimitingMs: 300,
});
const plan: Plan = {
  version: 1,
  name: "first power-up",
  feeds: [feed("aux", 2, true), feed("slot3v3", 1, false)],
  watch: { seconds: 15, slowestPeriodMs: 3000 },
  maxOnMs: 15_000,
  keepOn: false,
  backFeedVolts: 0.3,
  residualVolts: 0.3,
  trips: {
    overPowerWatts: 60,
    creepSharePerMin: 0.05,
    creepAfterMs: 60_000,
    creepRatio: 1.5,
    staleMs: 400,
    shortOhms: 0.5,
    partialShortOhms: 100,
    doubtfulOhms: 1000,
    touchJoules: 0.1,
  },
  ladder: { attemptMs: 1000, offMs: 10_000, raises: 2 },
};
const at = (stage: WireRun["stage"], feedName: string | null, atMs: number) => ({
  atMs,
  stage,
  feed: feedName,
  waitingFor: "",
  waitedMs: atMs,
  expectedMs: null,
  energised: feedName === null ? [] : [feedName],
});
const states = (run: WireRun): string =>
  run.stages
    .map((stage) => `${stage.stage} ${stage.state} ${stage.feeds.map((each) => each.state).join("/")}`)
    .join("\n");

test("a picture begins with every stage's limits, feeds in their order, and skips what a feed has not", () => {
  const run = runPicture(plan, { run: "1", job: null, startedAt: "2026-11-25T11:30:00.000Z" });
  expect(WireRun.parse(run)).toEqual(run);
  expect(
    run.stages[3]?.feeds.map((each) => [each.feed, each.volts, each.limitAmps, each.overVolts, each.maxMs]),
  ).toEqual([
    ["slot3v3", 12, 3, 13.2, 300],
    ["aux", 12, 3, 13.2, 300],
  ]);
  expect(states(run)).toContain("hold-low waiting skipped/waiting");
});

test("a picture follows the run stage by stage and feed by feed, with the times of each", () => {
  let run = runPicture(plan, { run: "1", job: null, startedAt: "2026-11-25T11:30:00.000Z" });
  for (const progress of [
    at("check", null, 0),
    at("touch", "slot3v3", 100),
    at("touch", "aux", 300),
    at("hold-low", "aux", 600),
    at("rise", "slot3v3", 900),
  ])
    run = pictureAt(run, progress);
  expect(states(run)).toBe(
    [
      "check clean clean/clean",
      "touch clean clean/clean",
      "hold-low clean skipped/clean",
      "rise running running/waiting",
      "watch waiting waiting/waiting",
      "off waiting waiting/waiting",
    ].join("\n"),
  );
  expect(run.stages[1]?.feeds.map((each) => [each.startedAtMs, each.endedAtMs])).toEqual([
    [100, 300],
    [300, 600],
  ]);
});

test("a feed that has risen keeps its limits in force while the next one rises, and the watch is of all feeds at once", () => {
  const rising = pictureAt(
    pictureAt(
      runPicture(plan, { run: "1", job: null, startedAt: "2026-11-25T11:30:00.000Z" }),
      at("rise", "slot3v3", 900),
    ),
    at("rise", "aux", 1100),
  );
  expect(rising.stages[3]?.feeds.map((each) => [each.state, each.startedAtMs, each.endedAtMs])).toEqual([
    ["clean", 900, null],
    ["running", 1100, null],
  ]);
  const watching = pictureAt(rising, at("watch", "aux", 1300));
  expect(watching.stages[3]?.feeds.map((each) => each.endedAtMs)).toEqual([1300, 1300]);
  expect(watching.stages[4]?.feeds.map((each) => [each.state, each.startedAtMs])).toEqual([
    ["running", 1300],
    ["running", 1300],
  ]);
});

test("a raised limit shows in the stages it holds for", () => {
  const run = pictureAt(
    runPicture(plan, { run: "1", job: null, startedAt: "2026-11-25T11:30:00.000Z" }),
    at("rise", "aux", 900),
    { aux: 5 },
  );
  expect(run.stages.map((stage) => stage.feeds.find((each) => each.feed === "aux")?.limitAmps)).toEqual([
    0, 0.3, 0.3, 5, 5, 0,
  ]);
});

test("a run that ended shows where it was stopped, and keeps what is on when the output is not known to be off", () => {
  const outcome: RunOutcome = {
    ended: "board-stopped",
    output: "off",
    limitToTry: null,
    raises: 0,
    reachedStage: "rise",
    trip: { rule: "limiting", feed: "aux", stage: "rise", atMs: 950, board: true, because: "" },
  };
  const running = pictureAt(
    runPicture(plan, { run: "1", job: null, startedAt: "2026-11-25T11:30:00.000Z" }),
    at("rise", "aux", 900),
  );
  const ended = pictureEnded(running, outcome, 960);
  expect(states(ended).split("\n").slice(3)).toEqual([
    "rise stopped clean/stopped",
    "watch waiting waiting/waiting",
    "off clean waiting/waiting",
  ]);
  expect(ended.energised).toEqual([]);
  expect(pictureEnded(running, { ...outcome, output: "unknown" }, 960).energised).toEqual(["aux"]);
  const well = pictureEnded(
    pictureAt(running, at("off", null, 16_000)),
    { ...outcome, ended: "as-planned", trip: null, reachedStage: "off" },
    16_100,
  );
  expect(well.stages.map((stage) => stage.state)).toEqual(["clean", "clean", "clean", "clean", "clean", "clean"]);
});
