import { writeFileSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "vitest";
import type { RunHeader } from "../../shared/record/run-record.ts";
import { classifyFiles } from "../../src/command/input/classify-files.ts";
import { withRecordKnowledge } from "../../src/job/known/record-knowledge.ts";
import type { JobStore } from "../../src/job/store/job-store.ts";
import { verdictOnDraw } from "../../src/verdict/draw-verdict.ts";
import { wholeCsv } from "../capture/whole-csv.ts";
import { BOARD, CLEAN_TOUCH, inputOf, OFF, traceOf, watched } from "../verdict/synthetic.ts";
import { fileRun, sampleHeader, sampleVerdict, withFolder, withStore } from "./sample-job.ts";

const headerOf = (changes: Partial<RunHeader> = {}) => sampleHeader({ board: BOARD, ...changes });

const otherSupply = () => {
  const header = headerOf();
  for (const each of header.instruments) each.identity = "TERN STREET,OTHER SUPPLY,7,1.0";
  return header;
};

/** A board that drew `amps` and passed; answers its job. */
async function passed(store: JobStore, amps: number, header = headerOf()): Promise<string> {
  const job = await store.newJob({ board: BOARD.name });
  await fileRun(store, job, { header, verdict: sampleVerdict({ class: "normal", plateauAmps: amps }) });
  await store.appendEvent(job, { kind: "result", result: "passed", text: null });
  return job;
}

const baselineOf = async (store: JobStore, header = headerOf()) => (await withRecordKnowledge(store, header)).baseline;

const GOOD = [0.8, 0.82, 0.84, 0.86];

test("the band of a run's header is the prediction interval over the good boards of its kind", () =>
  withStore(async (store) => {
    for (const amps of GOOD) await passed(store, amps);
    const baseline = await baselineOf(store);
    // t(0.975, 3)·√(1 + 1/4) = 3.56, times s = 0.02582 A of 0.80, 0.82, 0.84, 0.86 A, about their mean: by hand.
    expect(baseline?.band?.[0]).toBeCloseTo(0.83 - 3.56 * 0.02582, 3);
    expect(baseline?.band?.[1]).toBeCloseTo(0.83 + 3.56 * 0.02582, 3);
    expect(baseline).toMatchObject({ kind: "prediction", boards: 4, captures: 4, withinAmps: null });
    expect(baseline?.betweenAmps).toBeCloseTo(0.02582, 4);
  }));

test("one or two good boards give a fifth about their mean, and say how few they are", () =>
  withStore(async (store) => {
    await passed(store, 0.8);
    await passed(store, 0.9);
    const baseline = await baselineOf(store);
    expect(baseline).toMatchObject({ kind: "fifth", boards: 2, captures: 2 });
    expect(baseline?.band?.[0]).toBeCloseTo(0.68, 9);
    expect(baseline?.because.join(" ")).toContain("2 good boards");
  }));

test("a board counts from its last repair to its pass, and no longer when it comes back", () =>
  withStore(async (store) => {
    const job = await store.newJob({ board: BOARD.name });
    await fileRun(store, job, { header: headerOf(), verdict: sampleVerdict({ plateauAmps: 0.4 }) });
    await store.appendEvent(job, { kind: "repair", text: "U7 replaced", parts: [] });
    await fileRun(store, job, { header: headerOf(), verdict: sampleVerdict({ class: "normal", plateauAmps: 0.8 }) });
    expect(await baselineOf(store)).toBeUndefined();
    await store.appendEvent(job, { kind: "result", result: "passed", text: null });
    expect(await baselineOf(store)).toMatchObject({ boards: 1, captures: 1, band: [0.8 * 0.8, 0.96] });
    await store.appendEvent(job, { kind: "result", result: "returned", text: "dead after a week" });
    expect(await baselineOf(store)).toBeUndefined();
  }));

test("boards of one serial number are one board, however many jobs they had", () =>
  withStore(async (store) => {
    for (const amps of [0.8, 0.82]) {
      const job = await passed(store, amps);
      await store.appendEvent(job, { kind: "intake", serialNumber: "K2-0001" });
    }
    await passed(store, 0.9);
    expect(await baselineOf(store)).toMatchObject({ boards: 2, captures: 3 });
  }));

test("another supply, other leads, fans or host are not comparable, and are named", () =>
  withStore(async (store) => {
    for (const amps of GOOD) await passed(store, amps, otherSupply());
    const mixed = await baselineOf(store);
    expect(mixed).toMatchObject({ band: null, boards: 0 });
    expect(mixed?.because.join(" ")).toContain("4 good captures cannot be compared: supply TERN STREET,OTHER SUPPLY");
    for (const amps of GOOD) await passed(store, amps);
    const some = await baselineOf(store);
    expect(some).toMatchObject({ kind: "prediction", boards: 4 });
    expect(some?.because.join(" ")).toContain("4 good captures cannot be compared");
    const fans = headerOf();
    fans.conditions.fans = "on";
    expect((await baselineOf(store, fans))?.because.join(" ")).toContain("fans off then, on now");
    const leads = headerOf();
    for (const feed of leads.plan.feeds) feed.leadOhms = 0.1;
    expect((await baselineOf(store, leads))?.band).toBeNull();
  }));

test("another kind of board has no part in it", () =>
  withStore(async (store) => {
    await passed(store, 0.8, headerOf({ board: { ...BOARD, name: "Wren W2" } }));
    expect(await baselineOf(store)).toBeUndefined();
  }));

test("a draw is held against good boards before the entered band, which is named beside them", () =>
  withStore(async (store) => {
    for (const amps of GOOD) await passed(store, amps);
    const baseline = (await baselineOf(store)) ?? null;
    // Entered: normal from 0.65 to 1.1 A. By the good boards it ends at 0.92 A.
    const judged = (amps: number) =>
      verdictOnDraw(inputOf([traceOf([OFF, CLEAN_TOUCH, OFF, ...watched(15_000, amps)])], { baseline }));
    const inside = judged(0.85);
    expect(inside).toMatchObject({ class: "normal", baseline: { boards: 4 } });
    expect(inside.because.join(" ")).toContain("Judging by 4 good boards of this kind (4 captures)");
    expect(inside.because.join(" ")).toContain("board file's own band for normal is 650 mA to 1.1 A");
    expect(judged(1.05).class).toBe("cannot-tell");
    expect(judged(1.05).candidates.map((each) => each.class)).toContain("normal");
    expect(verdictOnDraw(inputOf([traceOf([OFF, CLEAN_TOUCH, OFF, ...watched(15_000, 1.05)])])).class).toBe("normal");
  }));

/** `classify` on one healthy trace of 0.85 A with what a data directory knows. */
async function classified(dir: string, board: object, data: string) {
  writeFileSync(join(dir, "board.json"), JSON.stringify(board));
  writeFileSync(join(dir, "trace.csv"), wholeCsv([traceOf([OFF, CLEAN_TOUCH, OFF, ...watched(6000, 0.85)])]));
  const [out, err]: [string[], string[]] = [[], []];
  const code = await classifyFiles(
    [join(dir, "trace.csv")],
    { json: true, board: join(dir, "board.json"), host: "none", fans: "off", data },
    { out: (text) => void out.push(text), err: (text) => void err.push(text) },
  );
  return { code, document: out.length === 0 ? null : JSON.parse(out.join("")), err: err.join("") };
}

test("classify --data holds a file against the good boards of a record, and says what it does not know of the file", () =>
  withFolder((dir) =>
    withStore(async (store) => {
      for (const amps of GOOD) await passed(store, amps);
      const { code, document } = await classified(dir, BOARD, store.dir);
      expect(code).toBe(0);
      expect(document).toMatchObject({ class: "normal", baseline: { boards: 4, kind: "prediction" } });
      expect(document.because.join(" ")).toContain("The supply of this draw was not stated");
    }),
  ));

test("a shop's own numbers come before the shipped ones, a board file's before the shop's", () =>
  withFolder((dir) =>
    withStore(async (store) => {
      const settings = (text: string) => writeFileSync(join(store.dir, "shop.json"), text);
      const watchOf = async (board: object) => (await classified(dir, board, store.dir)).document.class;
      // The trace's watch is 6 s.
      settings('{ "version": 1, "drawLimits": { "leastWatchMs": 10000 } }');
      expect(await watchOf(BOARD)).toBe("cannot-tell");
      expect(await watchOf({ ...BOARD, drawLimits: { leastWatchMs: 3000 } })).toBe("normal");
      settings('{ "version": 1, "drawLimits": { "leastWatchSeconds": 10 } }');
      const refused = await classified(dir, BOARD, store.dir);
      expect(refused.code).toBe(2);
      expect(refused.err).toMatch(/^Cannot read the shop settings ".*shop\.json": .*leastWatchSeconds/);
      await expect(withRecordKnowledge(store, headerOf())).rejects.toThrow(/leastWatchSeconds/);
    }),
  ));
