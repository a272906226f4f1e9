import { mkdir } from "node:fs/promises";
import path from "node:path";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { isOn, type PoweredBench, poweredBench, timesOn } from "./powered-bench.ts";
import { type Ended, endPrograms, fewAtATime, runProgram } from "./run-program.ts";

/** What is wrong, how the program is called, and what the sentence must say. Every one ends with 2. */
interface Case {
  title: string;
  args: (at: { folder: string; args: string[] }) => string[];
  says: RegExp[];
}

const bench =
  (name: string) =>
  ({ title, says }: { title: string; says: RegExp[] }): Case => ({
    title,
    says: [...says, /nothing was touched/],
    args: ({ folder }) => [
      "powerup",
      "--bench",
      path.join(folder, name),
      "--data",
      path.join(folder, "other"),
      "--json",
    ],
  });
const board =
  (name: string) =>
  ({ title, says }: { title: string; says: RegExp[] }): Case => ({
    title,
    says: [...says, /nothing was (touched|energised)/],
    args: ({ folder, args }) => ["powerup", ...args, "--board", path.join(folder, name), "--waive", "a test", "--json"],
  });
const options = (title: string, more: string[], says: RegExp[]): Case => ({
  title,
  says,
  args: ({ args }) => ["powerup", ...args, ...more],
});

const CASES: Case[] = [
  bench("misspelt.json")({
    title: "a bench file with a misspelt key, and what was perhaps meant",
    says: [
      /instruments\.psu\.adress is not a field/,
      /did you mean "address"\?/,
      /address is missing; it should be a text/,
    ],
  }),
  bench("half.json")({ title: "half a bench file, and where it stops", says: [/half\.json/, /line \d+, column \d+/] }),
  bench("empty.json")({ title: "an empty file", says: [/empty\.json": the file is empty/] }),
  bench("a-folder")({ title: "a folder given as bench file", says: [/a-folder": it is a folder/] }),
  bench("not-there.json")({
    title: "a bench file that is not there",
    says: [/not-there\.json": the file does not exist/],
  }),
  bench("number.json")({ title: "JSON that is a number", says: [/is 42; it should be an object/] }),
  bench("list.json")({ title: "JSON that is a list", says: [/is \[1,2\]; it should be an object/] }),
  bench("other.json")({
    title: "JSON of another kind, with what a bench file has",
    says: [/version is missing/, /instruments is missing/, /hello is not a field here/],
  }),
  bench("no-supply.json")({
    title: "a feed whose supply is no instrument, and those there are",
    says: [/feeds\.aux\.supply names "psux"/, /"instruments" \(psu\)/],
  }),
  bench("unknown-driver.json")({
    title: "a driver there is none of, and those there are",
    says: [/driver "frobnicator"/, /numbered-supply, plain-supply/, /"auto"/],
  }),
  bench("bad-address.json")({
    title: "an address that is none, and what one looks like",
    says: [/"COM9"/, /ASRL\/dev\/ttyUSB0::INSTR/],
  }),
  board("board-misspelt.json")({
    title: "a board file with a misspelt key",
    says: [/feeds\.in12\.limitAmp is not a field/, /did you mean "limitAmps"\?/],
  }),
  board("board-circle.json")({
    title: "a rail that needs itself",
    says: [/rails\.core\.needs goes in a circle: core needs core/],
  }),
  board("board-limit.json")({
    title: "a limit above the supply's, with both figures",
    says: [/feeds\.in12\.limitAmps is 40 A/, /psu channel 1 gives at most 10 A/],
  }),
  options(
    "an option there is none of, and the one that was perhaps meant",
    ["--keep-om", "--json"],
    [/unknown option '--keep-om'/, /--keep-on/, /[Nn]othing was touched/],
  ),
  options("a word too many", ["bench.json", "--json"], [/too many arguments/, /[Nn]othing was touched/]),
  options(
    "ohms that are no number",
    ["--ohms", "in12=lots", "--json"],
    [/"in12=lots" came/, /POINT=VALUE, such as aux=12\.4k/],
  ),
  options("ohms with two commas", ["--ohms", "in12=12,4,5k", "--json"], [/"in12=12,4,5k" came/]),
  options("ohms below zero", ["--ohms", "in12=-5", "--json"], [/"in12=-5" came/]),
  options(
    "ohms of a point the board has not, and the points it has",
    ["--ohms", "in21=50", "--waive", "x", "--json"],
    [/ohms\.in21 names "in21"/, /in12/],
  ),
  options("two readings of one point", ["--ohms", "in12=50", "--json"], [/in12 was given twice/]),
  options(
    "a plan there is none of",
    ["--plan", "second-power-up", "--json"],
    [/"second-power-up"/, /"first-power-up"/, /nothing was touched/],
  ),
  options("a job there is none of, before an instrument is opened", ["--job", "0123", "--json"], [/0123/]),
  options("a job id that is none", ["--job", "my job", "--json"], [/"my job" is not a job id/]),
  options("a host that is neither", ["--host", "maybe", "--json"], [/maybe/, /none, pulled-up, attached/]),
  options("a watch of no time", ["--watch", "0", "--json"], [/"0" came; it should be seconds, 1 to 600/]),
  options("neither a terminal nor --json nor --yes", [], [/not a terminal/, /--json or --yes/, /nothing was touched/]),
  { title: "an unknown command", args: () => ["powerupp"], says: [/unknown command 'powerupp'/, /powerup/] },
  { title: "no command", args: () => [], says: [/Usage: firstamp/, /powerup/] },
  { title: "a job command there is none of", args: () => ["job", "burn"], says: [/unknown command 'burn'/] },
  { title: "powerup without a bench file", args: () => ["powerup", "--json"], says: [/--bench <file>/] },
  {
    title: "a data directory that is a file",
    args: ({ folder, args }) => ["powerup", ...args, "--data", path.join(folder, "number.json"), "--json"],
    says: [/number\.json/, /cannot be written/, /--data or FIRSTAMP_DATA/],
  },
  {
    title: "a data directory below a device",
    args: ({ args }) => ["powerup", ...args, "--data", "/dev/null/data", "--json"],
    says: [/\/dev\/null\/data/, /cannot be written/],
  },
  {
    title: "a port to serve on that is none",
    args: ({ folder }) => ["serve", "--data", path.join(folder, "other"), "--port", "99999"],
    says: [/0 to 65535/],
  },
  {
    title: "a scenario there is none of",
    args: () => ["simulate", "--scenario", "nosuch"],
    says: [/no scenario "nosuch"/, /dead-short/],
  },
];

const FILES: Record<string, string> = {
  "misspelt.json":
    '{"version":1,"instruments":{"psu":{"kind":"supply","adress":"ASRL/dev/ttyS9::INSTR"}},"feeds":{"aux":{"supply":"psu"}}}',
  "half.json": '{\n  "version": 1,\n  "instruments": {\n    "psu": { "kind": "sup',
  "empty.json": "",
  "number.json": "42",
  "list.json": "[1,2]",
  "other.json": '{"hello":"world"}',
  "no-supply.json":
    '{"version":1,"instruments":{"psu":{"kind":"supply","address":"ASRL/dev/ttyS9::INSTR"}},"feeds":{"aux":{"supply":"psux"}}}',
  "unknown-driver.json":
    '{"version":1,"instruments":{"psu":{"kind":"supply","address":"ASRL/dev/ttyS9::INSTR","driver":"frobnicator"}},"feeds":{"aux":{"supply":"psu"}}}',
  "bad-address.json":
    '{"version":1,"instruments":{"psu":{"kind":"supply","address":"COM9"}},"feeds":{"aux":{"supply":"psu"}}}',
};

describe("a person's mistake", () => {
  let rig: PoweredBench;
  const ends = new Map<string, Ended>();

  beforeAll(async () => {
    rig = await poweredBench({ scenario: "single-feed" });
    const { folder, simulation } = rig;
    await mkdir(path.join(folder.path, "a-folder"));
    for (const [name, text] of Object.entries(FILES)) await folder.write(name, text);
    const { boardFile } = simulation;
    const in12 = boardFile?.feeds["in12"];
    const core = boardFile?.rails["core"];
    if (boardFile === undefined || in12 === undefined || core === undefined)
      throw new Error("Wren W1 has in12 and core");
    const withFeed = (feed: object) => ({ ...boardFile, feeds: { in12: { ...in12, ...feed } } });
    await folder.write("board-misspelt.json", withFeed({ limitAmp: 2 }));
    await folder.write("board-limit.json", withFeed({ limitAmps: 40 }));
    await folder.write("board-circle.json", {
      ...boardFile,
      rails: { ...boardFile.rails, core: { ...core, needs: ["core"] } },
    });
    const results = await fewAtATime(CASES, 3, (each) =>
      runProgram(each.args({ folder: folder.path, args: withoutData(rig.args) })),
    );
    for (const [index, each] of CASES.entries()) ends.set(each.title, results[index] as Ended);
  }, 120_000);
  afterAll(async () => {
    await endPrograms();
    await rig.close();
  });

  it.each(CASES)("is named and ends with 2: $title", ({ title, says }) => {
    const end = ends.get(title);
    expect(end?.err).toBeDefined();
    for (const each of says) expect(end?.err).toMatch(each);
    expect(end?.err).not.toMatch(/\n {4}at /);
    expect(end?.out).toBe("");
    expect(end?.code).toBe(2);
  });

  it("energises nothing, by the simulator's own account", () => {
    expect(timesOn(rig.simulation)).toBe(0);
    expect(isOn(rig.simulation)).toBe(false);
  });
});

/** Each of these runs needs a data directory of its own, for they run at the same time. */
let directory = 0;
const withoutData = (args: readonly string[]): string[] =>
  args.map((each, index) => (args[index - 1] === "--data" ? `${each}-${directory++}` : each));
