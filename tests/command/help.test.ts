import { spawn } from "node:child_process";
import { performance } from "node:perf_hooks";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type Ended, fewAtATime, PROGRAM, runProgram, type TestFolder, testFolder } from "./run-program.ts";

const ENERGISING =
  "bench board plan job data ohms host fans cooler checked watch waive keep-on fresh verbose yes json".split(" ");
/** Command to the options its help must name, by the contract of the command line. */
const HELP: Record<string, string[]> = {
  find: ["bench", "json"],
  powerup: ENERGISING,
  "null-leads": ["bench", "job", "data", "json"],
  cycle: [...ENERGISING, "cold", "warm", "for", "cold-off", "warm-off"],
  "host-look": ["sysfs", "watch", "rescan", "print-script", "json"],
  "start-order": ["board", "name", "json"],
  classify: ["board", "limit", "lead-ohms", "json"],
  diagnose: ["board", "json"],
  use: ["host", "fans", "cooler", "job", "forget", "data", "json"],
  serve: ["bench", "data", "port", "json"],
  simulate: ["scenario", "serial", "json"],
  try: ["once", "scenario", "json"],
  "job new": ["title", "data", "json"],
  "job list": ["data", "json"],
  "job show": ["data", "json"],
  "job note": ["data", "json"],
  "job correct": ["because", "take-back", "data", "json"],
  "job attach": ["as", "board", "port", "control", "clock-ahead", "name", "data", "json"],
  "job test": ["file", "by", "at", "hottest", "data", "json"],
  "job repair": ["part", "data", "json"],
  "job export": ["out", "data", "json"],
  "job import": ["data", "json"],
  "job backup": ["out", "files", "data", "json"],
  "job restore": ["data", "json"],
  "job tables": ["out", "data", "json"],
  "board export": ["out", "board", "shop", "data", "json"],
  "board import": ["yes", "data", "json"],
  "board list": ["data", "json"],
  "board forget": ["data", "json"],
  "job report": ["out", "data", "json"],
  "job compare": ["data", "json"],
};

/** Prints at the end which packages were loaded: what is imported as well as what is required goes through this cache. */
const LOADED = `process.on("exit", () => {
  const names = Object.keys(require.cache).map((each) => /node_modules\\/((?:@[^/]+\\/)?[^/]+)/.exec(each)?.[1]);
  const own = (process.moduleLoadList ?? []).filter((each) => /NativeModule sqlite$/.test(each)).map(() => "node:sqlite");
  process.stderr.write("LOADED " + [...new Set([...names, ...own])].sort().join(" ") + "\\n");
});`;
const SLOW = /(^| )(fastify|@photostructure\/sqlite|node:sqlite|serialport|@serialport\/\S+)( |$)/m;

describe("--help", () => {
  let folder: TestFolder;
  let probe = "";
  const ends = new Map<string, Ended>();
  beforeAll(async () => {
    folder = await testFolder();
    probe = await folder.write("loaded.cjs", LOADED);
    const commands = Object.keys(HELP);
    const results = await fewAtATime(commands, 2, (each) => helpOf(each, probe));
    for (const [index, each] of commands.entries()) ends.set(each, results[index] as Ended);
  }, 120_000);
  afterAll(() => folder.remove());

  it.each(Object.entries(HELP))(
    "of %s names its options and exit codes, loads nothing slow and ends with 0",
    (command, options) => {
      const end = ends.get(command);
      for (const each of options) expect(end?.out).toMatch(new RegExp(`--${each}\\b`));
      expect(end?.out).toContain(`Usage: firstamp ${command}`);
      expect(end?.out).toMatch(/^Exit/m);
      expect(end?.err).toContain("LOADED");
      expect(end?.err).not.toMatch(SLOW);
      expect(end?.code).toBe(0);
    },
  );

  it("of the program names every command and the exit codes", async () => {
    const end = await runProgram(["--help"]);
    for (const each of Object.keys(HELP)) expect(end.out).toContain(each.split(" ")[0]);
    expect(end.out).toMatch(/Exit codes: 0 .* 1 .* 2 .* 3 .*4 .* 5 /s);
    expect(end.code).toBe(0);
  });

  it("is told apart from a command that does load the database", async () => {
    const end = await runProgram(["job", "new", "--data", `${folder.path}/data`], { nodeArgs: ["--require", probe] });
    expect(end.err).toMatch(SLOW);
    expect(end.code).toBe(0);
  });

  it("answers within six times what node itself takes to start", async () => {
    // 0.3 s on a quiet machine, where node starts in 50 ms; on a busy one both get slower alike. The quickest of five each.
    const bare: number[] = [];
    const help: number[] = [];
    for (let each = 0; each < 5; each++) {
      bare.push(await took(["-e", "0"]));
      help.push(await took([PROGRAM, "powerup", "--help"]));
    }
    const [bareMs, helpMs] = [Math.min(...bare), Math.min(...help)];
    process.stdout.write(
      `powerup --help ${helpMs.toFixed(0)} ms, node -e 0 ${bareMs.toFixed(0)} ms: ${(helpMs / bareMs).toFixed(2)}\n`,
    );
    expect(helpMs / bareMs).toBeLessThanOrEqual(6);
  });
});

const helpOf = (command: string, probe: string): Promise<Ended> =>
  runProgram([...command.split(" "), "--help"], { nodeArgs: ["--require", probe] });

/** Milliseconds from start to end of a node process. */
async function took(args: string[]): Promise<number> {
  const startedMs = performance.now();
  const child = spawn(process.execPath, args, { stdio: "ignore" });
  await new Promise((resolve) => child.once("close", resolve));
  return performance.now() - startedMs;
}
