import { readFileSync } from "node:fs";
import { expect, test } from "vitest";
import { BoardFile } from "../../shared/files/board-file.ts";
import type { FirmwareWord } from "../../shared/record/firmware-image.ts";
import type { HostWord } from "../../shared/record/host-look.ts";
import type { JobEvent } from "../../shared/record/job.ts";
import { filedReadings } from "../../src/job/known/filed-readings.ts";
import { readingProblems } from "../../src/verdict/diagnosis/reading-problems.ts";
import { shippedFaultData } from "../../src/verdict/diagnosis/shipped-fault-data.ts";
import { startOrder } from "../../src/verdict/start/start-order.ts";
import { fileRun, sampleHeader, sampleVerdict, withStore } from "./sample-job.ts";

const board = BoardFile.parse(
  JSON.parse(readFileSync(new URL("../../scenarios/boards/kestrel-k2.json", import.meta.url), "utf8")),
);
const sha256 = "0".repeat(64);
const look = (word: HostWord): JobEvent => ({
  kind: "host-look",
  attachment: sha256,
  of: "board",
  port: null,
  look: {
    format: "firstamp-host-look",
    version: 1,
    lookedAt: null,
    source: "lspci",
    kernel: null,
    rescanned: false,
    notes: [],
    devices: [],
  },
  changes: [],
  clockAheadMs: null,
  verdict: { word, also: [], because: [], notTried: [], port: null, device: null },
});
const dump = (word: FirmwareWord): JobEvent => ({
  kind: "firmware",
  attachment: sha256,
  image: { bytes: 0, blank: null, images: [], problems: [] },
  verdict: { word, because: [], comparedWith: 0, regions: [] },
});
function start(levels: Record<string, number>): JobEvent {
  const atMs = Float64Array.from({ length: 1000 }, (_, i) => 0.1 * i);
  const volts = new Map(
    Object.entries(levels).map(([name, level]) => [
      name,
      atMs.map((ms) => (ms < 20 ? 0 : level * Math.min(1, ms - 20))),
    ]),
  );
  return { kind: "start-order", attachment: sha256, result: startOrder({ atMs, volts }, board) };
}

const readingsOf = (events: readonly JobEvent[], alsoRun = false) =>
  withStore(async (store) => {
    const job = await store.newJob({ board: board.name });
    if (alsoRun) await fileRun(store, job, { verdict: sampleVerdict({ class: "core-alive" }) });
    for (const event of events) await store.appendEvent(job, event);
    return filedReadings(await store.events(job), board);
  });

test("a draw, a host, levels of a trace, a dump and a load are evidence, by names that the diagnosis knows", async () => {
  const readings = await readingsOf(
    [
      look("no-link"),
      start({ "12v": 12, "3v3": 3.3, core: 0.86, mem: 1.27, reset: 0.02 }),
      dump("bad-checksum"),
      { kind: "test", test: { name: "load", result: "pass", text: null, by: null, doneAt: null } },
    ],
    true,
  );
  expect(readings).toMatchObject({
    draw: "core-alive",
    // The memory's 1.27 V lies at its limit, nearer than an oscilloscope can tell.
    volts: { "12v": 12, "3v3": 3.3, core: 0.85 },
    signals: { reset: 0.02 },
    checks: { "host-look": "no-link", "firmware-read": "differs", "load-test": "passes" },
  });
  expect(readings.volts).not.toHaveProperty("mem");
  expect(readingProblems(board, readings, shippedFaultData())).toEqual([]);
});

const tested = (name: string, more: Record<string, unknown>): JobEvent => ({
  kind: "test",
  test: { name, result: "done", text: null, by: null, doneAt: null, ...more },
});

test.each([
  ["memory", { result: "pass" }, { "memory-test": "clean" }],
  ["memory", { result: "fail", addresses: ["0x3f00"] }, { "memory-test": "errors" }],
  ["load", { result: "fail" }, { "load-test": "stops" }],
  ["host-boots", { result: "fail", passed: 3, of: 8 }, { boots: "varies" }],
  ["host-boots", { result: "pass", passed: 8, of: 8 }, { boots: "same" }],
  ["host-boots", { result: "fail", passed: 0, of: 8 }, { boots: "same" }],
  ["host-boots", { result: "fail", passed: 1, of: 2 }, { boots: "varies" }],
  ["host-boots", { result: "pass", passed: 1, of: 1 }, {}],
  ["host-boots", { result: "pass" }, {}],
  ["memory", { result: "done" }, {}],
  ["another", { result: "fail" }, {}],
])("a %s at the host, %j, is evidence as %j", async (name, more, checks) => {
  const readings = await readingsOf([tested(name, more)]);
  expect(readings.checks).toEqual(checks);
  expect(readingProblems(board, readings, shippedFaultData())).toEqual([]);
});

test("a trace with reset and clock in it is one answer: what it counts there counts nowhere else", async () => {
  const rails = { "12v": 12, core: 0.86 };
  const low = await readingsOf([start({ ...rails, reset: 0.02 })]);
  expect([low.checks, low.signals]).toEqual([{ "start-trace": "reset-low" }, {}]);
  expect(low.volts).toMatchObject({ "12v": 12, core: 0.85 });
  // Without the clock a reset that comes is not the whole start.
  expect((await readingsOf([start({ ...rails, reset: 1.8 })])).checks).toEqual({});
});

test("every word of a host and of a dump is an answer that the fault data has, or none", async () => {
  const hosts: HostWord[] = [
    "enumerated",
    "narrow-or-slow",
    "errors-growing",
    "firmware-doubtful",
    "driver-not-bound",
    "not-listed",
    "link-but-not-listed",
    "no-link",
    "presence-not-asserted",
    "fell-off",
    "cannot-tell",
  ];
  for (const word of hosts)
    expect(readingProblems(board, await readingsOf([look(word)]), shippedFaultData())).toEqual([]);
  const dumps: FirmwareWord[] = ["blank", "reads-differ", "cut-short", "another-boards", "differs", "as-good-boards"];
  for (const word of dumps)
    expect(readingProblems(board, await readingsOf([dump(word)]), shippedFaultData())).toEqual([]);
  expect((await readingsOf([look("cannot-tell")])).checks).toEqual({});
  expect((await readingsOf([dump("reads-differ")])).checks).toEqual({});
});

test("the latest of each holds, and nothing from before a repair does", async () => {
  const repair: JobEvent = { kind: "repair", text: "buffer replaced", parts: [] };
  expect((await readingsOf([look("no-link"), look("enumerated")])).checks).toEqual({ "host-look": "enumerated" });
  expect(await readingsOf([look("no-link"), start({ reset: 0.02 }), repair])).toMatchObject({
    signals: {},
    checks: {},
  });
});

test("a low reset that was pulled up counts once the host has looked; one that nobody released does not", async () => {
  const underHost = (host: "none" | "pulled-up"): JobEvent[] => {
    const header = sampleHeader();
    const conditions = { ...header.conditions, host };
    const rail = {
      rail: "reset",
      quantity: "volts" as const,
      volts: 0.02,
      verdict: "fail" as const,
      conformity: 0,
      limits: [1.26, 1.98] as [number, number],
      because: [],
      how: "take" as const,
      polarity: "red-on-point" as const,
      readings: 3,
      standardError: 0,
      moving: "no" as const,
      tookMs: 100,
      questioned: null,
      corrects: false,
      neverPower: null,
    };
    const setting = {
      function: "volts" as const,
      rangeUpTo: 10,
      powerLineCycles: 1,
      channel: null,
      leadNullOhms: null,
    };
    return [
      { kind: "run-started", header: { ...header, conditions } },
      { kind: "sweep-rail", sweep: header.run, run: header.run, setting, rail, corrects: null },
      look("no-link"),
    ];
  };
  expect((await readingsOf(underHost("pulled-up"))).signals).toEqual({ reset: 0.02 });
  expect((await readingsOf(underHost("none"))).signals).toEqual({});
});

test("a look or test dated before the repair was filed says nothing of the board after it, by the bench's clock", async () => {
  const repair: JobEvent = { kind: "repair", text: "buffer replaced", parts: [] };
  const day = 86_400_000;
  const at = (ms: number): string => new Date(Date.now() + ms).toISOString();
  const dated = (ms: number, clockAheadMs: number | null): JobEvent => {
    const event = look("no-link");
    return event.kind === "host-look" ? { ...event, look: { ...event.look, lookedAt: at(ms) }, clockAheadMs } : event;
  };
  const checks = async (event: JobEvent) => (await readingsOf([repair, event])).checks;
  expect(await checks(dated(-60_000, null))).toEqual({});
  expect(await checks(dated(60_000, null))).toEqual({ "host-look": "no-link" });
  // A host whose clock is a day slow or fast, and says by how much.
  expect(await checks(dated(60_000 - day, -day))).toEqual({ "host-look": "no-link" });
  expect(await checks(dated(day - 60_000, day))).toEqual({});
});
