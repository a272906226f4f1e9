import { mkdtemp, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import type { DrawVerdict } from "../../shared/draw-verdict.ts";
import { classifyFiles } from "../../src/command/input/classify-files.ts";
import { BOARD } from "../verdict/synthetic.ts";
import { type FeedCase, spiceRows } from "./ngspice-transient.ts";

const SAMPLE_MS = 0.1;
const bench = { setVolts: 12, riseMs: 5, leadOhms: 0.05, outputFarads: 0.0002, outputOhms: 0.002, longestStepUs: 40 };
const lockOut = { rising: 7.5, falling: 7 };

interface Case {
  feed: FeedCase;
  class: string;
  sub?: string;
}

/** Boards that reach their nominal voltage, of the span common practice gives: 0.5–2 mF behind some 10 mΩ. */
const started: [string, Case][] = [
  [
    "standby: 0.03 A through 400 Ω",
    {
      feed: { ...bench, limitAmps: 1, inputFarads: 0.001, esrOhms: 0.01, shuntOhms: 400, ms: 3300 },
      class: "standby-only",
    },
  ],
  [
    "partly up: 2.4 W past its lock-out, 0.5 mF",
    {
      feed: {
        ...bench,
        limitAmps: 1,
        inputFarads: 0.0005,
        esrOhms: 0.02,
        converter: { watts: 2.4, ...lockOut },
        ms: 3300,
      },
      class: "partly-up",
    },
  ],
  [
    "core alive: 6 W, 2 mF",
    {
      feed: {
        ...bench,
        limitAmps: 2,
        inputFarads: 0.002,
        esrOhms: 0.01,
        converter: { watts: 6, ...lockOut },
        ms: 3300,
      },
      class: "core-alive",
    },
  ],
  [
    "normal: 10.5 W, 1 mF",
    {
      feed: {
        ...bench,
        limitAmps: 3,
        inputFarads: 0.001,
        esrOhms: 0.008,
        converter: { watts: 10.5, ...lockOut },
        ms: 3300,
      },
      class: "normal",
    },
  ],
  [
    "over-demand: 24 W, 1.5 mF",
    {
      feed: {
        ...bench,
        limitAmps: 4,
        inputFarads: 0.0015,
        esrOhms: 0.01,
        converter: { watts: 24, ...lockOut },
        ms: 3300,
      },
      class: "overload",
      sub: "over-demand",
    },
  ],
];

const stopped: [string, Case][] = [
  [
    "0.05 Ω at the touch",
    {
      feed: { ...bench, setVolts: 0.9, limitAmps: 0.3, inputFarads: 0.001, esrOhms: 0.01, shuntOhms: 0.05, ms: 300 },
      class: "dead-short",
    },
  ],
  [
    "4.7 Ω at the touch",
    {
      feed: { ...bench, setVolts: 0.9, limitAmps: 0.3, inputFarads: 0.001, esrOhms: 0.01, shuntOhms: 4.7, ms: 300 },
      class: "overload",
      sub: "ohmic",
    },
  ],
  [
    "30 W past 9/8 V at 2 A, which loops",
    {
      feed: {
        ...bench,
        limitAmps: 2,
        inputFarads: 0.001,
        esrOhms: 0.01,
        converter: { watts: 30, rising: 9, falling: 8 },
        ms: 400,
        longestStepUs: 20,
      },
      class: "cannot-tell",
      sub: "start-loop",
    },
  ],
];

/** What a meter that reads every 0.1 ms, exactly, would make of ngspice's steps; and what the steps themselves add up to. */
function sampled(rows: readonly number[][], feed: FeedCase) {
  const lines = ["time_s,volts,amps,limit_amps,set_volts,mode"];
  let [chargeCoulombs, limitedMs, row] = [0, 0, 1];
  let reached = false;
  for (let i = 1; i < rows.length; i++) {
    const [t0 = 0, amps0 = 0] = rows[i - 1] ?? [];
    const [t1 = 0, amps1 = 0, over = 0, , volts = 0] = rows[i] ?? [];
    if (!reached) chargeCoulombs += ((amps0 + amps1) / 2) * (t1 - t0);
    if (volts >= 0.98 * feed.setVolts) reached = true;
    if (over > 0) limitedMs += (t1 - t0) * 1000;
  }
  for (let ms = SAMPLE_MS; ms < feed.ms; ms += SAMPLE_MS) {
    const now = ms / 1000;
    while (row < rows.length - 1 && (rows[row]?.[0] ?? 0) < now) row++;
    const [from, to] = [rows[row - 1] ?? [], rows[row] ?? []];
    const share = (now - (from[0] ?? 0)) / ((to[0] ?? 0) - (from[0] ?? 0));
    const value = (column: number) => (from[column] ?? 0) * (1 - share) + (to[column] ?? 0) * share;
    const mode = (to[2] ?? 0) > 0 ? "cc" : "cv";
    lines.push(
      `${now.toFixed(6)},${value(4).toFixed(6)},${value(1).toFixed(6)},${feed.limitAmps},${feed.setVolts},${mode}`,
    );
  }
  return { csv: `${lines.join("\n")}\n`, chargeCoulombs, limitedMs };
}

let folder = "";
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), "spice-classify-"));
  await writeFile(join(folder, "board.json"), JSON.stringify(BOARD));
});
afterAll(() => rm(folder, { recursive: true }));

async function classified(name: string, csv: string): Promise<DrawVerdict> {
  const file = join(folder, `${name.replace(/\W+/g, "-")}.csv`);
  await writeFile(file, csv);
  const out: string[] = [];
  const code = await classifyFiles(
    [file],
    { json: true, board: join(folder, "board.json"), host: "none", fans: "off", leadOhms: bench.leadOhms },
    { out: (text) => void out.push(text), err: (text) => void out.push(text) },
  );
  expect(code, out.join("")).toBe(0);
  return JSON.parse(out.join("")) as DrawVerdict;
}

describe("classify reads what ngspice computed", () => {
  test.each(started)("%s: class, charge, time in limit, capacitance", async (name, { feed, ...expected }) => {
    const { csv, chargeCoulombs, limitedMs } = sampled(await spiceRows(feed), feed);
    const verdict = await classified(name, csv);
    expect(verdict, verdict.because.join(" ")).toMatchObject(expected);
    expect(Math.abs((verdict.features.chargeCoulombs ?? 0) / chargeCoulombs - 1)).toBeLessThan(0.02);
    expect(Math.abs((verdict.features.limitedMs ?? 0) - limitedMs)).toBeLessThanOrEqual(SAMPLE_MS);
    expect(Math.abs((verdict.features.inputFarads ?? 0) / feed.inputFarads - 1)).toBeLessThan(0.1);
  });
  test.each(stopped)("%s: class and kind", async (name, { feed, ...expected }) => {
    const { csv, limitedMs } = sampled(await spiceRows(feed), feed);
    const verdict = await classified(name, csv);
    expect(verdict, verdict.because.join(" ")).toMatchObject(expected);
    if (expected.class === "cannot-tell") {
      expect(verdict.candidates.map((each) => each.class)).toContain("overload");
      expect(Math.abs((verdict.features.limitedMs ?? 0) / limitedMs - 1)).toBeLessThan(0.02);
    }
    if (feed.shuntOhms !== undefined) expect(verdict.features.shortOhms).toBeCloseTo(feed.shuntOhms, 2);
  });
});
