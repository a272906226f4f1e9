import { expect, test } from "vitest";
import type { JobEvent } from "../../shared/record/job.ts";
import type { SweepRail } from "../../shared/sweep.ts";
import { eventText } from "../../src/job/report/event-text.ts";
import { makeReport } from "../../src/job/report/make-report.ts";
import { testedItems } from "../../src/job/report/tested-items.ts";
import { uuidV7 } from "../../src/job/store/uuid-v7.ts";
import { withStore } from "./sample-job.ts";

const EVIL = "<script>alert(1)</script>";

const rail = (name: string, volts: number | null, more: Partial<SweepRail> = {}): SweepRail => ({
  rail: name,
  quantity: "volts",
  volts,
  expandedVolts: 0.0123,
  verdict: volts === null ? "not-measured" : "pass",
  conformity: 1,
  limits: [4.75, 5.25],
  because: [`${name} reads something`],
  how: "contact",
  polarity: "red-on-point",
  readings: 8,
  standardError: 0.0002,
  moving: "no",
  tookMs: 400,
  questioned: null,
  corrects: false,
  neverPower: null,
  ...more,
});

function sweepEvents(rails: SweepRail[], points: string[], board = "Kestrel K2"): JobEvent[] {
  const sweep = uuidV7();
  const setting = {
    function: "volts" as const,
    rangeUpTo: null,
    powerLineCycles: null,
    channel: null,
    leadNullOhms: null,
  };
  return [
    {
      kind: "sweep-started",
      sweep,
      cold: false,
      board,
      points,
      meter: { name: "dmm", identity: board, leadNullOhms: null },
    },
    ...rails.map((each): JobEvent => ({ kind: "sweep-rail", sweep, run: null, rail: each, setting, corrects: null })),
    {
      kind: "sweep-ended",
      sweep,
      runs: [],
      ended: "all-visited",
      because: [],
      draw: null,
      diagnosis: null,
      neverPower: [],
    },
  ];
}

const itemAfter = (...events: JobEvent[]) =>
  testedItems(
    events.map((event, index) => ({ id: uuidV7(), seq: index + 1, recordedAt: "2026-11-25T20:00:00.000Z", event })),
  ).find((each) => each.what === "Voltage of each rail");

test("rails are tested only by a sweep under power, and by all of it: pass, conditional, fail, not tested", () => {
  const points = ["5v", "core"];
  expect(itemAfter()).toMatchObject({ result: "not tested" });
  expect(itemAfter(...sweepEvents([rail("5v", 5.02), rail("core", 0.86)], points))).toMatchObject({ result: "pass" });
  expect(itemAfter(...sweepEvents([rail("5v", 5.02)], points))).toMatchObject({
    result: "conditional",
    because: "not measured: core",
  });
  const near = rail("core", 0.86, { verdict: "conditional-pass" });
  expect(itemAfter(...sweepEvents([rail("5v", 5.02), near], points))).toMatchObject({ result: "conditional" });
  const bad = rail("core", 0.1, { verdict: "fail" });
  expect(itemAfter(...sweepEvents([rail("5v", 5.02), bad], points))).toMatchObject({ result: "fail" });
  expect(
    itemAfter(...sweepEvents([bad, rail("5v", 5.02), rail("core", 0.86, { corrects: true })], points)),
  ).toMatchObject({
    result: "pass",
  });
  expect(itemAfter(...sweepEvents([], points))).toMatchObject({ result: "not tested" });
});

test("the report has a table of the sweep, with the uncertainty of each value; text in it is text", () =>
  withStore(async (store) => {
    const job = await store.newJob({ board: "Kestrel K2" });
    for (const event of sweepEvents(
      [rail("5v", 5.0213), rail("core", null, { neverPower: EVIL })],
      ["5v", "core"],
      EVIL,
    ))
      await store.appendEvent(job, event);
    const report = await makeReport(store, job);
    expect(report).toContain("5.021 V ± 0.012 V");
    expect(report).toContain("4.75 V to 5.25 V");
    expect(report).not.toContain("<script>");
    const { log } = await store.show(job);
    expect(log.map(({ event }) => eventText(event)).filter((each) => each.startsWith("pass"))).toEqual([
      "pass: 5v reads something",
    ]);
  }));
