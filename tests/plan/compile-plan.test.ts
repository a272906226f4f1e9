import { describe, expect, test } from "vitest";
import { BenchFile } from "../../shared/files/bench-file.ts";
import { BoardFile } from "../../shared/files/board-file.ts";
import type { ColdReadings } from "../../shared/permit.ts";
import type { Plan } from "../../shared/plan.ts";
import { compilePlan, type PlanOptions, type PlanProblem } from "../../src/plan/compile/compile-plan.ts";
import { kestrelBench, kestrelBoard, kestrelCold, kestrelPlan, quickSupply } from "./example-plan.ts";

interface Asked {
  feeds?: BenchFile["feeds"] | Record<string, object>;
  board?: object | null;
  cold?: ColdReadings;
  options?: Partial<PlanOptions>;
  maxAmps?: number;
  maxVolts?: number;
}

function compiled({
  feeds = { aux: { supply: "psu" } },
  board = null,
  cold = {},
  options = {},
  maxAmps = 10,
  maxVolts = 32,
}: Asked) {
  const bench = BenchFile.parse({
    version: 1,
    instruments: { psu: { kind: "supply", address: "ASRL1::INSTR" } },
    feeds,
  });
  const channels = Object.fromEntries([1, 2, 3].map((channel) => [channel, { maxVolts, maxAmps, readIntervalMs: 10 }]));
  return compilePlan({
    bench,
    board: board === null ? null : BoardFile.parse({ version: 1, name: "board", ...board }),
    capabilities: { psu: { ...quickSupply, channels } },
    coldOhms: cold,
    options: { cooler: "unknown", keepOn: false, ...options },
  });
}

function planOf(asked: Asked): Plan {
  const result = compiled(asked);
  if ("problems" in result) throw new Error(JSON.stringify(result.problems));
  return result.plan;
}

function problemsOf(asked: Asked): PlanProblem[] {
  const result = compiled(asked);
  return "problems" in result ? result.problems : [];
}

describe("an unknown board", () => {
  // Shipped defaults: common practice, no source.
  test.each([
    { name: "aux", nominalVolts: 12, firstAmps: 2, limitAmps: 5, ladderAmps: [3, 5], maxVolts: 13.2 },
    { name: "slot12", nominalVolts: 12, firstAmps: 1, limitAmps: 1, ladderAmps: [], maxVolts: 13.2 },
    { name: "slot3v3", nominalVolts: 3.3, firstAmps: 0.5, limitAmps: 0.5, ladderAmps: [], maxVolts: 3.7 },
    { name: "standby5v", nominalVolts: 5, firstAmps: 0.5, limitAmps: 0.5, ladderAmps: [], maxVolts: 5.5 },
  ])("feed $name gets $nominalVolts V and $firstAmps A first, by its name", ({ name, firstAmps, ...rest }) => {
    const [feed] = planOf({ feeds: { [name]: { supply: "psu" } } }).feeds;
    expect(feed).toMatchObject({
      feed: name,
      ...rest,
      nominal: { volts: rest.nominalVolts, limitAmps: firstAmps, overVolts: rest.maxVolts },
    });
    expect(feed?.assumed?.join()).toContain("by its name");
  });

  test("a name that says nothing is taken as 12 V auxiliary, and that stands first among what was assumed", () => {
    const [feed] = planOf({ feeds: { main: { supply: "psu" } } }).feeds;
    expect(feed).toMatchObject({ nominalVolts: 12, nominal: { limitAmps: 2 } });
    expect(feed?.assumed?.[0]).toBe("nominal 12 V");
  });

  test.each(["in19v", "v1v8", "vcore"])(
    "a name that says other volts, %s, is refused and asks for a board file",
    (name) => {
      expect(problemsOf({ feeds: { [name]: { supply: "psu" } } })).toMatchObject([
        { path: `feeds.${name}`, message: expect.stringContaining("board file") },
      ]);
    },
  );

  test("goes up 3.3 V first, then the slot's 12 V, then the auxiliary plug", () => {
    const feeds = {
      aux: { supply: "psu", channel: 1 },
      slot12: { supply: "psu", channel: 2 },
      slot3v3: { supply: "psu", channel: 3 },
    };
    expect(planOf({ feeds }).feeds.map((each) => each.feed)).toEqual(["slot3v3", "slot12", "aux"]);
  });

  test("is bare where no cooler was stated: 60 s at most, and 320 J of heat", () => {
    expect(planOf({})).toMatchObject({
      maxOnMs: 60_000,
      maxOnJoules: 320,
      watch: { seconds: 15, slowestPeriodMs: 3000 },
    });
    expect(planOf({ options: { cooler: "cooler" } }).maxOnMs).toBe(1_800_000);
  });

  test("a default limit above the supply's is lowered to it, and said", () => {
    const [feed] = planOf({ maxAmps: 2.5 }).feeds;
    expect(feed).toMatchObject({ limitAmps: 2.5, ladderAmps: [] });
    expect(feed?.assumed?.join()).toContain("2.5 A of supply psu channel 1");
  });
});

/** A board file that says no more of its one feed than its volts; common practice, no source. */
const feedOf = (nominalVolts: number, more: object = {}) => {
  const board = { feeds: { in: { nominalVolts, ...more } } };
  const [feed] = planOf({ feeds: { in: { supply: "psu" } }, board, maxVolts: 60 }).feeds;
  if (feed === undefined) throw new Error("no feed");
  return feed;
};

describe("a feed of other volts than 12", () => {
  test.each([
    [12, 2, [3, 5], 3],
    [19, 1.26, [1.89, 3.15], 4.75],
    [24, 1, [1.5, 2.5], 6],
    [48, 0.5, [0.75, 1.25], 12],
  ])(
    "%s V gets the watts of a 12 V feed, %s A first, and is held at a quarter of nominal",
    (volts, first, ladder, hold) => {
      const feed = feedOf(volts);
      expect(feed.nominal.limitAmps).toBe(first);
      expect(feed.ladderAmps).toEqual(ladder);
      expect(feed.holdLow?.volts).toBe(hold);
      expect(feed.limitAmps).toBe(ladder[1]);
    },
  );

  test("a 48 V hold takes no more watts than a 12 V one, 0.9 W, and still fills the capacitors it may have", () => {
    const small = feedOf(48, { inputFarads: [0.0001, 0.001] });
    expect(small.holdLow?.limitAmps).toBeCloseTo(0.075, 9);
    const unsaid = feedOf(48).holdLow;
    // 5 mF by 12 V in a quarter of a second: I = C·V/t.
    expect(unsaid?.limitAmps).toBeCloseTo(0.24, 9);
  });

  test("is held under the lock-out that the board file states", () => {
    expect(feedOf(24, { lockOutVolts: [5, 4.5] }).holdLow?.volts).toBeCloseTo(3.6, 9);
  });

  test("keeps what the board file says", () => {
    expect(feedOf(48, { limitAmps: 1.5, firstAmps: 1 }).nominal.limitAmps).toBe(1);
    expect(feedOf(48, { limitAmps: 0.8 }).nominal.limitAmps).toBe(0.8);
    expect(feedOf(48, { limitAmps: 2 }).nominal.limitAmps).toBe(0.5);
  });
});

describe("the Kestrel K2", () => {
  const plan = kestrelPlan();

  test("keeps the board file's order, limits and tolerances", () => {
    expect(plan.feeds.map((each) => [each.feed, each.nominal.limitAmps, each.limitAmps, each.ladderAmps])).toEqual([
      ["slot3v3", 1, 1, []],
      ["slot12", 2, 2, []],
      ["aux", 3, 5, [5]],
    ]);
  });

  test("has a touch and a hold below lock-out for the 12 V feeds, a touch for 3.3 V", () => {
    const [three, slot, aux] = plan.feeds;
    expect(three).toMatchObject({ touch: { volts: 0.8, limitAmps: 0.1, overVolts: 1.5, maxMs: 300 }, holdLow: null });
    expect(slot).toMatchObject({
      touch: { volts: 0.9, limitAmps: 0.2 },
      holdLow: { volts: 3, limitAmps: 0.2, maxMs: 500 },
    });
    expect(aux).toMatchObject({
      touch: { volts: 0.9, limitAmps: 0.3 },
      holdLow: { volts: 3, limitAmps: 0.3 },
      twoLimitAmps: [0.2, 0.4],
      lockOutVolts: [7.5, 7],
    });
    expect(aux?.holdLow?.overVolts).toBeCloseTo(3.45, 9);
  });

  test("takes what cools the chip for its longest on-time, bare where it is not said", () => {
    expect(plan.maxOnMs).toBe(120_000);
    expect(kestrelPlan({ options: { cooler: "unknown" } }).maxOnMs).toBe(15_000);
  });

  test("a feed left out of the bench stays off, and the plan says so", () => {
    const feeds = { aux: { supply: "psu" } };
    const bench = BenchFile.parse({ version: 1, instruments: kestrelBench.instruments, feeds });
    const result = compilePlan({
      bench,
      board: kestrelBoard,
      capabilities: { psu: quickSupply },
      coldOhms: {},
      options: { cooler: "block", keepOn: false },
    });
    expect(result).toMatchObject({ plan: { feedsNotOn: ["slot3v3", "slot12"] } });
  });

  test("compiles without having asked the supply, so that a bad file is refused before a link is opened", () => {
    const result = compilePlan({
      bench: kestrelBench,
      board: kestrelBoard,
      capabilities: {},
      coldOhms: kestrelCold,
      options: { cooler: "block", keepOn: false },
    });
    expect("plan" in result).toBe(true);
  });

  test("looks take four read intervals, at most 1.5 s", () => {
    expect(kestrelPlan({ readIntervalMs: 100 }).feeds[0]?.touch.maxMs).toBe(400);
    expect(kestrelPlan({ readIntervalMs: 500 }).feeds[0]?.touch.maxMs).toBe(1500);
  });
});

describe("other boards", () => {
  test("a feed of 3.5 V and more is held at a quarter of nominal, a lower one not", () => {
    const at = (nominalVolts: number) => planOf({ board: { feeds: { aux: { nominalVolts } } } }).feeds[0]?.holdLow;
    expect(at(5)?.volts).toBe(1.25);
    expect(at(3.3)).toBeNull();
    expect(at(19)?.volts).toBe(4.75);
  });

  test("under remote sense the over-voltage level is raised by the drop of the leads", () => {
    // 13.2 V + 2 A · 0.1 Ω = 13.4 V; 1.5 V + 0.3 A · 0.1 Ω = 1.53 V (arithmetic).
    const [feed] = planOf({
      feeds: { aux: { supply: "psu", leadOhms: 0.1, sense: "remote" } },
      board: { feeds: { aux: { nominalVolts: 12, limitAmps: 2 } } },
    }).feeds;
    expect(feed?.nominal.overVolts).toBeCloseTo(13.4, 9);
    expect(feed?.touch.overVolts).toBeCloseTo(1.53, 9);
  });

  test("a limit of up to twice the default is used at once, a greater one is climbed to", () => {
    const first = (limitAmps: number) =>
      planOf({ board: { feeds: { aux: { nominalVolts: 12, limitAmps } } } }).feeds[0];
    expect(first(4)).toMatchObject({ nominal: { limitAmps: 4 }, ladderAmps: [] });
    expect(first(5)).toMatchObject({ nominal: { limitAmps: 2 }, ladderAmps: [3, 5] });
    expect(first(1.5)).toMatchObject({ nominal: { limitAmps: 1.5 }, limitAmps: 1.5 });
  });

  test("two feeds on one channel are one feed with the lowest of their limits and both their capacitors", () => {
    const feeds = { a12: { supply: "psu", channel: 1 }, b12: { supply: "psu", channel: 1 } };
    const board = {
      feeds: {
        a12: { nominalVolts: 12, limitAmps: 2, inputFarads: [0.0001, 0.001] },
        b12: { nominalVolts: 12, limitAmps: 1.5, inputFarads: [0.0001, 0.002] },
      },
    };
    const plan = planOf({ feeds, board, cold: { a12: 900, b12: 700 } });
    expect(plan.feeds).toMatchObject([
      { feed: "a12", ganged: ["b12"], limitAmps: 1.5, inputFaradsMax: expect.closeTo(0.003), coldOhms: 700 },
    ]);
    expect(
      problemsOf({ feeds, board: { feeds: { a12: { nominalVolts: 12 }, b12: { nominalVolts: 5 } } } }),
    ).toMatchObject([{ path: "feeds.a12.channel" }]);
  });

  test("a feed a person switches has no supply", () => {
    const plan = planOf({ feeds: { aux: { supply: "psu" }, slot12: { manual: true } } });
    expect(plan.feeds.find((each) => each.feed === "slot12")).toMatchObject({ supply: null, channel: null });
  });
});

describe("what is refused, with its path", () => {
  test.each([
    {
      why: "a stated limit above the supply's",
      asked: { board: { feeds: { aux: { nominalVolts: 12, limitAmps: 12 } } } },
      path: "feeds.aux.limitAmps",
      says: "at most 10 A",
    },
    {
      why: "volts above the supply's",
      asked: { board: { feeds: { aux: { nominalVolts: 48 } } } },
      path: "feeds.aux.nominalVolts",
      says: "at most 32 V",
    },
    {
      why: "a feed the board does not have",
      asked: { board: { feeds: { slot12: { nominalVolts: 12 } } } },
      path: "feeds.aux",
      says: "its feeds are: slot12",
    },
    {
      why: "a feed the bench does not have",
      asked: { options: { feeds: ["auxx"] } },
      path: "feeds.auxx",
      says: "its feeds are: aux",
    },
    {
      why: "a cold reading of no point",
      asked: { cold: { cor: 3 } },
      path: "ohms.cor",
      says: "the points of this board are",
    },
    { why: "a cold pair with one end unknown", asked: { cold: { "aux:cor": 3 } }, path: "ohms.aux:cor", says: '"cor"' },
    {
      why: "a pair of one point",
      asked: { cold: { "aux:aux": 3 } },
      path: "ohms.aux:aux",
      says: "two different points",
    },
    { why: "a watch of no time", asked: { options: { watchSeconds: 0 } }, path: "watchSeconds", says: "more than 0" },
  ])("$why", ({ asked, path, says }) => {
    expect(problemsOf(asked)).toMatchObject([{ path, message: expect.stringContaining(says) }]);
  });
});
