import { describe, expect, test } from "vitest";
import { isLimited } from "../../src/analysis/limiting.ts";
import { summedLimitingMs } from "../../src/plan/machine/feed-track.ts";
import { plannedFeed } from "../../src/plan/machine/plan-feeds.ts";
import { backFeed } from "../../src/plan/trips/back-feed.ts";
import { charge } from "../../src/plan/trips/charge.ts";
import { collapse } from "../../src/plan/trips/collapse.ts";
import { creeping } from "../../src/plan/trips/creeping.ts";
import { energy } from "../../src/plan/trips/energy.ts";
import { twoLimitTest } from "../../src/plan/trips/junction.ts";
import { limiting } from "../../src/plan/trips/limiting.ts";
import { onTime } from "../../src/plan/trips/on-time.ts";
import { overPower } from "../../src/plan/trips/over-power.ts";
import { overVoltage } from "../../src/plan/trips/over-voltage.ts";
import { stale } from "../../src/plan/trips/stale.ts";
import { startLoop } from "../../src/plan/trips/start-loop.ts";
import { kestrelPlan } from "./example-plan.ts";
import { CLIMB, HOLD, liveFeed, liveState, type Reading, watchOf } from "./live-state.ts";

const plan = kestrelPlan();
const aux = plannedFeed(plan, "aux");
if (aux === undefined) throw new Error("the plan has no aux");
const WATCH = watchOf("aux", []);

const every = (ms: number, count: number, of: (index: number) => Omit<Reading, "atMs">): Reading[] =>
  Array.from({ length: count }, (_, index) => ({ atMs: (index + 1) * ms, ...of(index) }));

const healthy = every(10, 20, () => ({ volts: 12, amps: 1.2 }));
const watching = (readings: readonly Reading[]) => liveState(plan, "watch", WATCH, [liveFeed(plan, "aux", readings)]);

test("a healthy feed in the watch trips nothing", () => {
  const view = { plan, state: watching(healthy), nowMs: 205 };
  for (const check of [
    overVoltage,
    backFeed,
    startLoop,
    limiting,
    collapse,
    overPower,
    energy,
    charge,
    creeping,
    stale,
    onTime,
  ])
    expect(check(view)).toBeNull();
});

describe("over-voltage", () => {
  test.each([
    { stage: "touch" as const, level: 1.5 },
    { stage: "hold-low" as const, level: 3.45 },
    { stage: "nominal" as const, level: 13.2 },
  ])("trips above $level V in $stage, by more than two read-back steps", ({ stage, level }) => {
    const at = (volts: number) =>
      overVoltage({
        plan,
        state: liveState(plan, "watch", WATCH, [liveFeed(plan, "aux", [{ atMs: 10, volts, amps: 0 }], stage)]),
        nowMs: 10,
      });
    expect(at(level + 0.001)).toBeNull();
    expect(at(level + 0.01)).toMatchObject({ rule: "over-voltage", feed: "aux", board: true });
  });

  test("without a protection of the supply's own it says that it only cleans up", () => {
    const bare = kestrelPlan({ supply: { hasOverVoltage: false } });
    const state = liveState(bare, "watch", WATCH, [liveFeed(bare, "aux", [{ atMs: 10, volts: 14, amps: 0 }])]);
    expect(overVoltage({ plan: bare, state, nowMs: 10 })?.because).toContain("after the fact");
  });
});

describe("limiting", () => {
  test("is summed over any second, stretches and all", () => {
    // 40 ms in the limit, 60 ms out of it, ten times: 10 readings of each; half a gap counts at each edge (arithmetic).
    const live = liveFeed(
      plan,
      "aux",
      every(10, 100, (index) => ({
        volts: index % 10 < 4 ? 11 : 12,
        amps: index % 10 < 4 ? 3 : 1,
        limiting: index % 10 < 4,
      })),
    );
    expect(summedLimitingMs(aux, live.track, 1000)).toBeGreaterThan(350);
    expect(summedLimitingMs(aux, live.track, 1000)).toBeLessThan(450);
    expect(summedLimitingMs(aux, live.track, 1500)).toBeLessThan(230);
    expect(summedLimitingMs(aux, live.track, 2100)).toBe(0);
  });

  test("trips past what the charge explains, 3 · (4 mF · 12 V / 3 A) + 10 + 3 · 15 = 103 ms (arithmetic)", () => {
    expect(aux.allowedLimitingMs).toBeCloseTo(103, 6);
    const held = (ms: number) =>
      limiting({
        plan,
        state: liveState(plan, "rise", CLIMB, [
          liveFeed(
            plan,
            "aux",
            every(10, ms / 10, () => ({ volts: 5, amps: 3, limiting: true })),
          ),
        ]),
        nowMs: ms,
      });
    expect(held(100)).toBeNull();
    expect(held(120)).toMatchObject({ rule: "limiting", feed: "aux", board: true, higherLimit: true });
  });

  test("at the board's lock-out, or going up and down, it is a start that loops; near zero no higher limit explains it", () => {
    const at = (volts: (index: number) => number) =>
      limiting({
        plan,
        state: liveState(plan, "rise", CLIMB, [
          liveFeed(
            plan,
            "aux",
            every(10, 30, (index) => ({ volts: volts(index), amps: 3, limiting: true })),
          ),
        ]),
        nowMs: 300,
      });
    expect(at(() => 7.2)).toMatchObject({ rule: "start-loop", higherLimit: true });
    expect(at((index) => (index % 4 < 2 ? 4 : 6))).toMatchObject({ rule: "start-loop", higherLimit: true });
    expect(at(() => 0.7)).toMatchObject({ rule: "limiting", higherLimit: false });
  });

  test("is not seen in one reading, nor in a gap that one late reading leaves", () => {
    const at = (readings: readonly Reading[], nowMs: number) =>
      limiting({ plan, state: liveState(plan, "rise", CLIMB, [liveFeed(plan, "aux", readings)]), nowMs });
    const inLimit = { volts: 7, amps: 3, limiting: true };
    const up = { volts: 12, amps: 1, limiting: false };
    // Read each 10 ms: a gap counts as 3 · 10 ms at most, and 103 ms are allowed (arithmetic).
    expect(at([{ atMs: 10, ...inLimit }], 450)).toBeNull();
    const late = { atMs: 400, ...inLimit };
    expect(
      at(
        [
          { atMs: 10, ...inLimit },
          { atMs: 400, ...up },
        ],
        400,
      ),
    ).toBeNull();
    expect(at([{ atMs: 10, ...inLimit }, late, { atMs: 430, ...up }], 430)).toBeNull();
    // A limit that holds is seen in time also by one reading in 30 ms.
    const held = every(30, 4, () => inLimit);
    expect(at(held, 120)).not.toBeNull();
  });

  test("in the hold below lock-out names no higher limit", () => {
    const state = liveState(plan, "hold-low", HOLD, [
      liveFeed(
        plan,
        "aux",
        every(10, 45, () => ({ volts: 2.2, amps: 0.3, limiting: true })),
        "hold-low",
      ),
    ]);
    expect(limiting({ plan, state, nowMs: 450 })).toMatchObject({ rule: "limiting", higherLimit: false });
  });

  test("of a supply that does not say is I ≥ 0.98 · limit − 2 steps and V < 0.97 · set", () => {
    const says = (volts: number, amps: number, mode: "cv" | "cc" | "unknown") =>
      isLimited({ volts, amps, mode, setVolts: 12, limitAmps: 3, stepAmps: 0.001 });
    // 0.98 · 3 A − 2 mA = 2.938 A; 0.97 · 12 V = 11.64 V (arithmetic).
    expect(says(11.6, 2.939, "unknown")).toBe(true);
    expect(says(11.6, 2.937, "unknown")).toBe(false);
    expect(says(11.65, 3, "unknown")).toBe(false);
    expect(says(12, 1, "cc")).toBe(true);
    expect(says(11.5, 3, "cv")).toBe(false);
    expect(says(5, 3, "cv")).toBe(true);
  });
});

describe("start loop", () => {
  test("trips at the second fall under 80 % after 90 % was reached, not at the first", () => {
    const falls = (count: number) => {
      const volts = [3, 8, 11, 12, ...Array.from({ length: count }, () => [9, 12]).flat()];
      const readings = volts.map((each, index) => ({ atMs: 10 * (index + 1), volts: each, amps: 2 }));
      return startLoop({ plan, state: liveState(plan, "rise", CLIMB, [liveFeed(plan, "aux", readings)]), nowMs: 200 });
    };
    expect(falls(1)).toBeNull();
    expect(falls(2)).toMatchObject({ rule: "start-loop", feed: "aux", higherLimit: true });
  });
});

describe("collapse", () => {
  test("trips when the volts stay under 80 % without the limit to explain it", () => {
    const down = (amps: number) =>
      collapse({
        plan,
        state: watching([
          ...healthy,
          ...every(10, 40, () => ({ volts: 6, amps })).map((each) => ({ ...each, atMs: each.atMs + 200 })),
        ]),
        nowMs: 600,
      });
    expect(down(2)).toMatchObject({ rule: "collapse", board: true });
    expect(down(0.1)).toMatchObject({ rule: "collapse", board: false });
  });
});

describe("over-power", () => {
  test("takes three readings in a row above what volts and limit allow", () => {
    const reading = { volts: 12, amps: 6 };
    expect(
      overPower({
        plan,
        state: watching([...healthy, ...[210, 220].map((atMs) => ({ atMs, ...reading }))]),
        nowMs: 220,
      }),
    ).toBeNull();
    expect(
      overPower({
        plan,
        state: watching([...healthy, ...[210, 220, 230].map((atMs) => ({ atMs, ...reading }))]),
        nowMs: 230,
      }),
    ).toMatchObject({ rule: "over-power", feed: "aux" });
  });

  test("of all feeds together is the plan's", () => {
    const tight = { ...plan, trips: { ...plan.trips, overPowerWatts: 20 } };
    const [a, b] = ["slot12", "aux"].map((feed) =>
      liveFeed(
        tight,
        feed,
        every(10, 3, () => ({ volts: 12, amps: 1 })),
      ),
    );
    if (a === undefined || b === undefined) throw new Error("two feeds");
    expect(overPower({ plan: tight, state: liveState(tight, "watch", WATCH, [a, b]), nowMs: 30 })).toMatchObject({
      rule: "over-power",
      feed: null,
    });
  });
});

describe("charge and energy", () => {
  test("allow the capacitors' charge and the load, and no more", () => {
    // 3 · 4 mF · 12 V + 3 A · (1 s + 0.148 s) = 3.6 C (arithmetic): only a limit that is not held gets there.
    const taken = (amps: number) =>
      liveState(plan, "rise", CLIMB, [
        liveFeed(
          plan,
          "aux",
          every(100, 11, () => ({ volts: 8, amps })),
        ),
      ]);
    expect(charge({ plan, state: taken(3), nowMs: 1100 })).toBeNull();
    expect(charge({ plan, state: taken(4), nowMs: 1100 })).toMatchObject({ rule: "charge", feed: "aux" });
    const spent = (volts: number) =>
      liveState(plan, "rise", CLIMB, [
        liveFeed(
          plan,
          "aux",
          every(100, 11, () => ({ volts, amps: 3.5 })),
        ),
      ]);
    expect(energy({ plan, state: spent(11), nowMs: 1100 })).toBeNull();
    expect(energy({ plan, state: spent(13.1), nowMs: 1100 })).toMatchObject({ rule: "energy", feed: "aux" });
  });

  test("count only what must have flowed: one reading of an inrush after a gap of 390 ms blames no board", () => {
    // 0.3 A for 390 ms would be 117 mC, and 111 mC are allowed (arithmetic); but it may have flowed for the last millisecond only.
    const points = [{ atMs: 390, volts: 3, amps: 0.3 }];
    const state = liveState(plan, "hold-low", HOLD, [liveFeed(plan, "aux", points, "hold-low")]);
    expect(charge({ plan, state, nowMs: 400 })).toBeNull();
    expect(energy({ plan, state, nowMs: 400 })).toBeNull();
  });

  test("below 1 V allow 0.1 J", () => {
    const step = {
      step: "relimit",
      feed: "aux",
      target: { stage: "touch", index: 2 },
      sinceMs: 0,
      setting: aux.touch,
      points: [],
      rest: [],
    } as const;
    // 0.8 V · 0.4 A = 0.32 W: 0.1 J after 313 ms (arithmetic).
    const spentBy = (ms: number) =>
      energy({
        plan,
        state: liveState(plan, "touch", step, [
          liveFeed(
            plan,
            "aux",
            every(10, ms / 10, () => ({ volts: 0.8, amps: 0.4 })),
            "touch",
          ),
        ]),
        nowMs: ms,
      });
    expect(spentBy(310)).toBeNull();
    expect(spentBy(320)).toMatchObject({ rule: "energy", feed: "aux" });
  });
});

describe("back-feed", () => {
  const withOff = (volts: number, leastVolts: number) => {
    const state = liveState(plan, "touch", CLIMB, [liveFeed(plan, "slot3v3", [])]);
    return {
      plan,
      state: { ...state, ledger: { ...state.ledger, offVolts: { aux: { volts, leastVolts, atMs: 5 } } } },
      nowMs: 10,
    };
  };

  test("is more than 0.3 V on a feed that is off (common practice, no source)", () => {
    expect(backFeed(withOff(0.29, 0))).toBeNull();
    expect(backFeed(withOff(0.31, 0))).toMatchObject({ rule: "back-feed", feed: "aux", board: true });
    expect(backFeed(withOff(-0.5, 0))).toMatchObject({ rule: "back-feed" });
  });

  test("is not what an own look has left and what only falls", () => {
    expect(backFeed(withOff(2.5, 2.5))).toBeNull();
    expect(backFeed(withOff(2.65, 2.5))).toMatchObject({ rule: "back-feed" });
  });
});

describe("creeping", () => {
  const told = (amps: readonly number[]) =>
    creeping({
      plan,
      state: liveState(plan, "watch", watchOf("aux", amps), [
        liveFeed(plan, "aux", [{ atMs: amps.length * 1000, volts: 12, amps: amps.at(-1) ?? 0 }]),
      ]),
      nowMs: amps.length * 1000,
    });
  const curve = (seconds: number, of: (second: number) => number) =>
    Array.from({ length: seconds }, (_, second) => of(second));

  // Healthy boards climb 2–8 % and flatten, with time constants of 60–300 s (common practice, no source).
  test.each([60, 120, 300].flatMap((tau) => [0.02, 0.08].map((share) => ({ tau, share }))))(
    "passes a climb of $share that flattens with $tau s",
    ({ tau, share }) => {
      for (const seconds of [30, 65, 119])
        expect(told(curve(seconds, (t) => 1.2 * (1 + share * (1 - Math.exp(-t / tau)))))).toBeNull();
    },
  );

  test("trips on a slope that does not fall, after a minute and not before", () => {
    const leak = (t: number) => 1.2 * (1 + 0.0015 * t);
    expect(told(curve(58, leak))).toBeNull();
    expect(told(curve(64, leak))).toMatchObject({ rule: "creeping", feed: "aux", board: true });
  });

  test("trips at one and a half times the level at any time, where no step is between", () => {
    // +4 % a second: 1.5 times after about ten (arithmetic).
    expect(told(curve(8, (t) => 1.04 ** t))).toBeNull();
    expect(told(curve(16, (t) => 1.04 ** t))).toMatchObject({ rule: "creeping" });
    expect(told(curve(30, (t) => (t < 10 ? 1 : 1.8)))).toBeNull();
  });

  test("does not take a current that comes and goes for a climb", () => {
    expect(told(curve(90, (t) => (t % 7 < 3 ? 0.4 : 1.4)))).toBeNull();
  });
});

describe("silence and time", () => {
  test("stale is no reading for longer than the plan allows", () => {
    expect(plan.trips.staleMs).toBe(500);
    expect(stale({ plan, state: watching(healthy), nowMs: 700 })).toBeNull();
    expect(stale({ plan, state: watching(healthy), nowMs: 701 })).toMatchObject({
      rule: "stale",
      feed: "aux",
      board: false,
    });
  });

  test("on-time trips past the cooling's time, the watch and the way out with three seconds to spare", () => {
    expect(plan.maxOnMs).toBe(120_000);
    const at = (stage: "rise" | "watch", nowMs: number) =>
      onTime({ plan, state: liveState(plan, stage, WATCH, [liveFeed(plan, "aux", healthy)]), nowMs });
    expect(at("rise", 120_001)).toMatchObject({ rule: "on-time", board: false });
    expect(at("watch", 122_999)).toBeNull();
    expect(at("watch", 123_001)).toMatchObject({ rule: "on-time" });
  });
});

describe("the two-limit test", () => {
  test.each([
    { low: [0.2, 0.2], high: [0.4, 0.4], kind: "ohmic" },
    { low: [0.62, 0.2], high: [0.64, 0.4], kind: "junction" },
    // A junction of 0.6 V with 0.3 Ω in series (arithmetic).
    { low: [0.66, 0.2], high: [0.72, 0.4], kind: "junction" },
    { low: [0.4, 0.3], high: [0.42, 0.31], kind: null },
    { low: [0.4, 0.2], high: [0.6, 0.4], kind: null },
  ])("from $low V, A to $high V, A is $kind", ({ low, high, kind }) => {
    const point = ([volts = 0, amps = 0]: number[]) => ({ volts, amps, limited: true });
    expect(twoLimitTest(point(low), point(high))).toBe(kind);
  });
});
