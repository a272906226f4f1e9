import { describe, expect, test } from "vitest";
import { Plan } from "../../shared/plan.ts";
import { type FeedReading, voltsOf } from "../../shared/reading.ts";
import { runOnModel } from "./bench-model.ts";
import { kestrelPlan } from "./example-plan.ts";
import { healthyFeeds } from "./healthy-feeds.ts";
import { replay } from "./replay.ts";

describe("a first power-up of a healthy board", () => {
  const plan = kestrelPlan({ options: { watchSeconds: 1.5 } });
  const run = runOnModel({ plan, feeds: healthyFeeds() });
  const ons = run.effects.flatMap(({ effect }) =>
    effect.effect === "output-on" || effect.effect === "output-off" ? [`${effect.effect} ${effect.feed}`] : [],
  );

  test("goes through every stage and ends with everything off, as planned", () => {
    expect(run.outcome).toEqual({
      ended: "as-planned",
      trip: null,
      output: "off",
      limitToTry: null,
      raises: 0,
      reachedStage: "off",
    });
    expect(run.effects.at(-1)?.effect).toEqual({ effect: "finish" });
  });

  test("touches each feed alone and in order, holds the 12 V feeds low, rises in order, goes off in reverse", () => {
    const alone = (feed: string) => [`output-on ${feed}`, `output-off ${feed}`];
    expect(ons).toEqual([
      ...["slot3v3", "slot12", "aux"].flatMap(alone),
      ...["slot12", "aux"].flatMap(alone),
      ...["slot3v3", "slot12", "aux"].map((feed) => `output-on ${feed}`),
      ...["aux", "slot12", "slot3v3"].map((feed) => `output-off ${feed}`),
    ]);
  });

  test("brings the next feed up only on a reading of every feed that is on, asked for after the last one was up", () => {
    const readings = run.events.flatMap((event) => (event.event === "reading" ? [event.reading] : []));
    const nominal: Record<string, number> = { slot3v3: 3.3, slot12: 12, aux: 12 };
    const on: string[] = [];
    for (const { atMs, effect } of run.effects.filter((each) => each.effect.effect === "output-on").slice(-3)) {
      const before = readings.filter((each) => each.atMs <= atMs);
      const last = on.at(-1) ?? "";
      const isHigh = (each: FeedReading): boolean => (voltsOf(each) ?? 0) >= 0.9 * (nominal[last] ?? Number.NaN);
      // A feed is up at its second reading of 90 % of nominal.
      const upMs = before.filter((each) => each.feed === last && isHigh(each))[1]?.atMs ?? Number.NaN;
      const readSince = before.filter((each) => each.queriedAtMs >= upMs).map((each) => each.feed);
      expect(readSince).toEqual(expect.arrayContaining(on));
      if ("feed" in effect) on.push(effect.feed);
    }
    expect(on).toEqual(["slot3v3", "slot12", "aux"]);
  });

  test("sets what the stages ask for: 0.8 V and 0.9 V, 3 V, then nominal at the first limit", () => {
    const settings = run.effects.flatMap(({ effect }) =>
      effect.effect === "configure"
        ? [[effect.feed, effect.setting.volts, effect.setting.limitAmps, effect.setting.overVolts]]
        : [],
    );
    expect(settings).toEqual([
      ["slot3v3", 0.8, 0.1, 1.5],
      ["slot12", 0.9, 0.2, 1.5],
      ["aux", 0.9, 0.3, 1.5],
      ["slot12", 3, 0.2, expect.closeTo(3.45)],
      ["aux", 3, 0.3, expect.closeTo(3.45)],
      ["slot3v3", 3.3, 1, 3.7],
      ["slot12", 12, 2, 13.2],
      ["aux", 12, 3, 13.2],
    ]);
  });

  test("arms the over-current protections in the watch and not before", () => {
    const watchMs = run.effects.find(({ effect }) => effect.effect === "arm-over-current")?.atMs ?? 0;
    const lastOnMs = run.effects.filter(({ effect }) => effect.effect === "output-on").at(-1)?.atMs ?? 0;
    expect(watchMs).toBeGreaterThan(lastOnMs + 900);
  });

  test("puts millijoules into the board below 1 V", () => {
    for (const joules of Object.values(run.touchJoules)) expect(joules).toBeLessThan(0.005);
  });

  test("its record, replayed, leads to the same state", () => {
    expect(replay(plan, run.events)).toEqual(run.state);
  });

  test("the compiled plan is a plan by its own schema", () => {
    expect(Plan.parse(kestrelPlan())).toEqual(kestrelPlan());
  });

  test.each([5, 50, 100, 300])(
    "also with a reading only every %d ms, in 10 mA steps, from a supply that does not say how it regulates",
    (intervalMs) => {
      const slow = runOnModel({
        plan: kestrelPlan({
          readIntervalMs: intervalMs,
          options: { watchSeconds: 1 },
          supply: { stepVolts: 0.01, stepAmps: 0.01, riseMs: 100 },
        }),
        feeds: healthyFeeds(),
        intervalMs,
        stepVolts: 0.01,
        stepAmps: 0.01,
        saysMode: false,
        riseMs: 100,
      });
      expect(slow.outcome).toMatchObject({ ended: "as-planned", output: "off", reachedStage: "off" });
    },
  );
});

describe("holding on", () => {
  const plan = kestrelPlan({ options: { watchSeconds: 1, keepOn: true } });

  test("a stop ends a hold as planned, by the cut", () => {
    const run = runOnModel({
      plan,
      feeds: healthyFeeds(),
      at: [{ ms: 6000, event: { event: "stop", atMs: 0, by: "Ctrl-C" } }],
    });
    expect(run.outcome).toMatchObject({ ended: "as-planned", trip: null, output: "off" });
    expect(run.effects.slice(-2).map(({ effect }) => effect.effect)).toEqual(["cut", "finish"]);
  });

  test("the longest on-time ends a hold in order, counted from the first feed at nominal", () => {
    const short = { ...plan, maxOnMs: 4000 };
    const run = runOnModel({ plan: short, feeds: healthyFeeds() });
    expect(run.outcome).toMatchObject({ ended: "as-planned", trip: null, output: "off" });
    const nominal = run.effects.filter(({ effect }) => effect.effect === "output-on").at(-3)?.atMs ?? 0;
    const lastOffs = run.effects.filter(({ effect }) => effect.effect === "output-off").slice(-3);
    expect((lastOffs[0]?.atMs ?? 0) - nominal).toBeGreaterThanOrEqual(4000);
    expect((lastOffs[0]?.atMs ?? 0) - nominal).toBeLessThan(4100);
  });
});
