import { mkdtemp, readFile, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { classifyCommand } from "../../src/command/classify.ts";
import { classifyFiles } from "../../src/command/input/classify-files.ts";
import { BOARD, CLEAN_TOUCH, OFF, traceOf, watched } from "../verdict/synthetic.ts";
import { wholeCsv } from "./whole-csv.ts";

let folder = "";
const path = (name: string): string => join(folder, name);
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), "classify-"));
  await writeFile(path("good.csv"), wholeCsv([traceOf([OFF, CLEAN_TOUCH, OFF, ...watched(6000, 0.85)])]));
  await writeFile(
    path("short.csv"),
    `time_s,volts,amps\n${Array.from({ length: 40 }, (_, i) => `${i / 20},0.09,1.0`).join("\n")}\n`,
  );
  await writeFile(path("bad.csv"), "time_s,volts,amps\n0,12,much\n");
  await writeFile(path("board.json"), JSON.stringify(BOARD));
  await writeFile(path("typo.json"), JSON.stringify({ ...BOARD, feeds: { in12: { nominalVolt: 12 } } }));
});
afterAll(() => rm(folder, { recursive: true }));

async function classified(files: string[], options: Parameters<typeof classifyFiles>[1]) {
  const [out, err]: [string[], string[]] = [[], []];
  const code = await classifyFiles(files.map(path), options, {
    out: (text) => void out.push(text),
    err: (text) => void err.push(text),
  });
  const lines = out.join("").trimEnd().split("\n");
  return {
    code,
    out: out.join(""),
    err: err.join(""),
    documents: () => lines.map((line) => JSON.parse(line) as Record<string, unknown>),
  };
}

describe("classify", () => {
  it("prints one document a line with the keys of a power-up, and ends with 0", async () => {
    const { code, documents, err } = await classified(["good.csv", "short.csv"], {
      json: true,
      board: path("board.json"),
      host: "none",
      fans: "off",
    });
    expect(code).toBe(0);
    expect(err).toBe("");
    const [good, short] = documents();
    expect(good).toMatchObject({
      file: path("good.csv"),
      class: "normal",
      trip: null,
      output: null,
      job: null,
      capture: null,
    });
    expect(Object.keys(good?.["features"] as object)).toEqual([
      "plateauAmps",
      "peakAmps",
      "sampleIntervalMs",
      "chargeCoulombs",
      "inputFarads",
      "shortOhms",
      "limitedMs",
      "collapseRatio",
      "periodMs",
      "driftAmpsPerMin",
      "plateaus",
    ]);
    expect(short).toMatchObject({ class: "dead-short" });
  });
  it("judges the others where one file is bad, says why, and ends with 2", async () => {
    const { code, documents, err } = await classified(["bad.csv", "good.csv"], { json: true });
    expect(code).toBe(2);
    expect(err).toMatch(/line 2 column amps is "much"; it should be a number/);
    const [bad, good] = documents();
    expect(bad).toEqual({ file: path("bad.csv"), error: err.trimEnd() });
    expect(good).toHaveProperty("class", "core-alive");
  });
  it("takes the lead resistance off a short", async () => {
    const bare = (await classified(["short.csv"], { json: true })).documents()[0];
    const corrected = (await classified(["short.csv"], { json: true, leadOhms: 0.06 })).documents()[0];
    expect(bare).toMatchObject({ features: { shortOhms: expect.closeTo(0.09, 6) } });
    expect(corrected).toMatchObject({ features: { shortOhms: expect.closeTo(0.03, 6) } });
  });
  it("refuses a board file with a misspelt key before it judges anything", async () => {
    const { code, out, err } = await classified(["good.csv"], { json: true, board: path("typo.json") });
    expect(code).toBe(2);
    expect(out).toBe("");
    expect(err).toContain("nominalVolt");
  });
  it("writes sentences for people, with figures and units", async () => {
    const { out } = await classified(["good.csv"], { board: path("board.json") });
    expect(out).toMatch(/good\.csv: Normal draw/);
    expect(out).toMatch(/settled at 850 mA/);
  });
  it("has its options and exit codes in its help", () => {
    const command = classifyCommand();
    const help = command.helpInformation();
    for (const option of ["--board", "--limit", "--lead-ohms", "--host", "--fans", "--json"])
      expect(help).toContain(option);
  });
  it("loads only what its help needs until it runs", async () => {
    const importsOf = async (file: string): Promise<(string | undefined)[]> => {
      const source = await readFile(new URL(`../../src/command/${file}`, import.meta.url), "utf8");
      return [...source.matchAll(/^import (?!type ).* from "(.*)";$/gm)].map((each) => each[1]);
    };
    expect(await importsOf("classify.ts")).toEqual(["commander", "./input/take-remembered.ts"]);
    expect(await importsOf("input/take-remembered.ts")).toEqual(["./remembered-names.ts"]);
    expect(await importsOf("input/remembered-names.ts")).toEqual([]);
  });
});
