import { readFileSync } from "node:fs";
import { describe, expect, test } from "vitest";
import { BoardFile } from "../../shared/files/board-file.ts";
import { type ColdReadings, Permit, type RunConditions } from "../../shared/permit.ts";
import { evaluatePermit, type Waiver } from "../../src/plan/permit/permit.ts";
import type { PermitEvidence } from "../../src/plan/permit/permit-evidence.ts";
import { kestrelBoard, kestrelCold, kestrelPlan, type PlanChanges } from "./example-plan.ts";

const stated: RunConditions = {
  host: "none",
  fans: "off",
  cooler: "block",
  polarityChecked: true,
  commonReturn: true,
  sidebandStrapped: true,
  pairsUnplugged: null,
};
const reason: Waiver = { reason: "no meter at hand", items: null };

interface Asked extends PlanChanges {
  board?: BoardFile | null;
  conditions?: Partial<RunConditions>;
  evidence?: Partial<PermitEvidence>;
  waiver?: Waiver | null;
}

function permit({
  board = kestrelBoard,
  conditions = {},
  evidence = {},
  waiver = null,
  cold = kestrelCold,
  ...changes
}: Asked = {}): Permit {
  const plan = kestrelPlan({ cold, ...changes });
  const found = plan.feeds.map(({ feed }) => ({ feed, output: "off" as const, cutByUs: false, volts: 0.01 }));
  return evaluatePermit(
    plan,
    board,
    {
      conditions: { ...stated, ...conditions },
      coldOhms: cold,
      instruments: [{ name: "psu", kind: "supply", identity: "Bench,SIM-SUPPLY,SN1,1.0", hasWatchdog: true }],
      found,
      ...evidence,
    },
    waiver,
  );
}

const item = (given: Permit, id: string) => given.items.find((each) => each.id === id);
const withCold = (cold: ColdReadings, rest: Asked = {}) => permit({ ...rest, cold: { ...kestrelCold, ...cold } });

describe("the permit", () => {
  test("is granted when everything holds, and is one by its schema", () => {
    expect(Permit.parse(permit())).toMatchObject({ granted: true, refusedBecause: [] });
  });

  test("what was not done refuses it, item by item, and a reason waives it, each on record", () => {
    const refused = permit({ cold: {} });
    expect(refused.granted).toBe(false);
    expect(refused.items.filter((each) => each.state === "not-done").map((each) => each.id)).toEqual([
      "cold:slot3v3",
      "cold:slot12",
      "cold:aux",
      "pair:aux:core",
    ]);
    expect(refused.refusedBecause).toHaveLength(4);
    const waived = permit({ cold: {}, waiver: reason });
    expect(waived.granted).toBe(true);
    expect(item(waived, "cold:aux")?.waived).toEqual({ reason: reason.reason });
    expect(item(waived, "output:aux")?.waived).toBeNull();
  });

  test("a waiver of named items reaches no other", () => {
    const waived = permit({ cold: {}, waiver: { ...reason, items: ["cold:aux", "cold:slot12", "cold:slot3v3"] } });
    expect(waived.granted).toBe(false);
    expect(waived.refusedBecause).toEqual([expect.stringContaining("Ohms from aux to core")]);
  });

  test("surroundings that nobody stated stay unknown without refusing it; a stated no refuses", () => {
    const unsaid = permit({
      conditions: {
        host: "unknown",
        fans: "unknown",
        cooler: "unknown",
        polarityChecked: null,
        commonReturn: null,
        sidebandStrapped: null,
      },
    });
    expect(unsaid.granted).toBe(true);
    expect(unsaid.items.filter((each) => each.state === "unknown").map((each) => each.id)).toEqual([
      "polarity",
      "common-return",
      "sideband",
      "fans",
      "cooler",
      "host",
    ]);
    expect(permit({ conditions: { polarityChecked: false } })).toMatchObject({ granted: false });
  });
});

describe("what is measured bad is never waived", () => {
  // Do-not-power readings: common practice, no source; 12 V under 100 Ω is the tool's own, stricter rule.
  const bad: [string, Asked, string][] = [
    ["12 V input of 8 Ω", { cold: { ...kestrelCold, aux: 8 } }, "cold:aux"],
    ["12 V input of 99 Ω", { cold: { ...kestrelCold, slot12: 99 } }, "cold:slot12"],
    [
      "12 V input of 200 Ω where the board file does not say so",
      { cold: { ...kestrelCold, slot12: 200 } },
      "cold:slot12",
    ],
    ["12 V input under the board's own least", { cold: { ...kestrelCold, aux: 299 } }, "cold:aux"],
    ["3.3 V input of 4 Ω", { cold: { ...kestrelCold, slot3v3: 4 } }, "cold:slot3v3"],
    ["pair under the board's least", { cold: { ...kestrelCold, "aux:core": 60 } }, "pair:aux:core"],
    ["pair equal to the core's own ohms", { cold: { ...kestrelCold, core: 0.5, "aux:core": 0.6 } }, "pair:aux:core"],
    [
      "core under half its least, read with four wires",
      { cold: { ...kestrelCold, core: 0.04 }, evidence: { coldFourWire: ["core"] } },
      "rail:core",
    ],
    [
      "output that is on",
      { evidence: { found: [{ feed: "aux", output: "on", cutByUs: false, volts: 12 }] } },
      "output:aux",
    ],
    [
      "volts with the output off",
      { evidence: { found: [{ feed: "aux", output: "off", cutByUs: false, volts: 0.5 }] } },
      "residual:aux",
    ],
  ];

  test.each(bad)("%s", (_what, asked, id) => {
    const given = permit({ ...asked, waiver: reason });
    expect(item(given, id)).toMatchObject({ state: "measured-bad", waived: null });
    expect(given.granted).toBe(false);
    expect(given.refusedBecause.some((each) => each.includes("never waived"))).toBe(true);
  });

  test("a 3.3 V input of 60 Ω is low and no short: without a word in the board file it wants a reason", () => {
    const low = { cold: { ...kestrelCold, slot3v3: 60 } };
    expect(permit(low).granted).toBe(false);
    expect(permit({ ...low, waiver: reason }).granted).toBe(true);
  });

  test("an input that reads as the core does is told to be a shorted high side", () => {
    const given = withCold({ aux: 0.6, core: 0.5 }, { waiver: reason });
    expect(item(given, "cold:aux")?.evidence).toContain("shorted high side");
  });
});

describe("cold readings that pass", () => {
  test("100 to 300 Ω where the board file says so; open; a pair typed the other way round", () => {
    const told = BoardFile.parse({
      ...kestrelBoard,
      feeds: { ...kestrelBoard.feeds, slot12: { ...kestrelBoard.feeds["slot12"], coldOhmsMin: 150 } },
    });
    expect(item(withCold({ slot12: 180 }, { board: told }), "cold:slot12")).toMatchObject({ state: "holds" });
    expect(item(withCold({ aux: "open" }), "cold:aux")).toMatchObject({
      state: "holds",
      evidence: expect.stringContaining("open"),
    });
    const { "aux:core": _pair, ...rest } = kestrelCold;
    expect(item(permit({ cold: { ...rest, "core:aux": 3100 } }), "pair:aux:core")).toMatchObject({ state: "holds" });
  });

  test("even where the board file's least is lower, under 100 Ω is never powered", () => {
    const told = BoardFile.parse({
      ...kestrelBoard,
      feeds: { ...kestrelBoard.feeds, aux: { ...kestrelBoard.feeds["aux"], coldOhmsMin: 20 } },
    });
    expect(item(withCold({ aux: 60 }, { board: told, waiver: reason }), "cold:aux")).toMatchObject({
      state: "measured-bad",
    });
  });

  test("without a board file each 12 V feed wants its pairs to core and memory, 100 Ω at least", () => {
    const given = permit({ board: null });
    expect(given.items.filter((each) => each.id.startsWith("pair:")).map((each) => [each.id, each.state])).toEqual([
      ["pair:slot12:core", "not-done"],
      ["pair:slot12:memory", "not-done"],
      ["pair:aux:core", "holds"],
      ["pair:aux:memory", "not-done"],
    ]);
  });
});

describe("the bench's part", () => {
  test("no over-voltage protection is none, and wants a waiver of its own", () => {
    const without = { supply: { hasOverVoltage: false } };
    expect(item(permit(without), "over-voltage:aux")).toMatchObject({
      state: "not-done",
      evidence: expect.stringContaining("none"),
    });
    expect(permit(without).granted).toBe(false);
    expect(permit({ ...without, waiver: reason }).granted).toBe(true);
  });

  test("no communication watchdog is a warning only", () => {
    const given = permit({
      evidence: { instruments: [{ name: "psu", kind: "supply", identity: "Bench,SIM,1,1", hasWatchdog: false }] },
    });
    expect(item(given, "watchdog:psu")).toMatchObject({ state: "holds", evidence: expect.stringContaining("warning") });
    expect(given.granted).toBe(true);
  });

  test("an output found on and cut by us holds; what is left on it may run off", () => {
    const found = [{ feed: "aux", output: "off" as const, cutByUs: true, volts: 9 }];
    const given = permit({ evidence: { found } });
    expect(item(given, "output:aux")).toMatchObject({ state: "holds", evidence: expect.stringContaining("found on") });
    expect(item(given, "residual:aux")).toMatchObject({ state: "holds" });
  });

  test("a supply that did not identify itself, and volts that were not read, are unknown", () => {
    const given = permit({ evidence: { instruments: [], found: [] } });
    expect(item(given, "instrument:psu")).toMatchObject({ state: "unknown" });
    expect(item(given, "residual:aux")).toMatchObject({ state: "unknown" });
    expect(given.granted).toBe(false);
  });
});

// Two wires repeat within about ±0.17 Ω where the leads were taken off (common practice, no source): a 0.05 Ω limit lies inside that.
describe("a two-wire reading within its uncertainty of a short's limit", () => {
  const core = (ohms: number, rest: { waiver?: Asked["waiver"]; fourWire?: string[] } = {}) =>
    permit({
      cold: { ...kestrelCold, core: ohms },
      ...(rest.waiver === undefined ? {} : { waiver: rest.waiver }),
      ...(rest.fourWire === undefined ? {} : { evidence: { coldFourWire: rest.fourWire } }),
    });
  test.each([0, 0.04, 0.06, 0.15])(
    "%d Ω on the core is neither barred for ever nor let through by a general waiver",
    (ohms) => {
      const refused = core(ohms, { waiver: reason });
      expect(refused.granted).toBe(false);
      expect(item(refused, "rail:core")).toMatchObject({ state: "unknown", waived: null });
      expect(refused.refusedBecause.join(" ")).toMatch(
        /too close.*two-wire reading to decide.*four wires.*1 A.*millivolts/,
      );
      expect(core(ohms, { waiver: { ...reason, items: ["rail:core"] } }).granted).toBe(true);
    },
  );
  test("is decided by four wires, both ways", () => {
    expect(item(core(0.04, { fourWire: ["core"] }), "rail:core")).toMatchObject({ state: "measured-bad" });
    expect(item(core(0.15, { fourWire: ["core"] }), "rail:core")).toMatchObject({ state: "holds" });
    expect(core(0.15, { fourWire: ["core"] }).granted).toBe(true);
  });
  test("does not hold up a core of 0.41 Ω", () => {
    expect(core(0.41).granted).toBe(true);
  });
});

describe("a card of which nothing is known", () => {
  const generalCard = BoardFile.parse(
    JSON.parse(readFileSync(new URL("../../scenarios/boards/general-card.json", import.meta.url), "utf8")),
  );
  const healthy = { ...kestrelCold, core: 0.41, mem: 38, "aux:mem": 5000, "slot12:mem": 5000, "5v:core": 3000 };
  // Shorts and suspect ohms by role: common practice, no source.
  test.each([
    ["mem", 2],
    ["1v8", 15],
    ["3v3", 60],
    ["5v", 120],
  ])("%s at %d Ω is low and wants a reason; only a short of its role is absolute", (rail, ohms) => {
    const cold = { ...healthy, [rail]: ohms };
    expect(permit({ board: generalCard, evidence: { coldOhms: cold } }).granted).toBe(false);
    expect(permit({ board: generalCard, evidence: { coldOhms: cold }, waiver: reason }).granted).toBe(true);
  });
  test.each([
    ["mem", 0.5],
    ["1v8", 1],
    ["3v3", 5],
    ["5v", 5],
  ])("%s at %d Ω is a short", (rail, ohms) => {
    const cold = { ...healthy, [rail]: ohms };
    const given = permit({ board: generalCard, evidence: { coldOhms: cold }, waiver: reason });
    expect(item(given, `rail:${rail}`)).toMatchObject({ state: "measured-bad" });
  });
});
