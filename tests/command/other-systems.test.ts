import { execFileSync } from "node:child_process";
import { existsSync } from "node:fs";
import { mkdir } from "node:fs/promises";
import path from "node:path";
import { fileURLToPath, pathToFileURL } from "node:url";
import { afterAll, afterEach, beforeAll, describe, expect, it } from "vitest";
import { mustHaveNoGuardian } from "../end-guardians.ts";
import { endedInTime } from "./powered-bench.ts";
import { endPrograms, runProgram, startProgram, type TestFolder, testFolder } from "./run-program.ts";

const BEFORE = pathToFileURL(fileURLToPath(new URL("./other-system.mjs", import.meta.url))).href;
const ROOT = fileURLToPath(new URL("../..", import.meta.url));

/** Where a program's data goes: Apple's File System Programming Guide; Microsoft's FOLDERID_LocalAppData (from memory). */
const SYSTEMS = [
  ["darwin", ["Library", "Application Support", "firstamp"]],
  ["win32", ["Local", "firstamp"]],
] as const;

/** What differs lies behind src/system/platform.ts and src/link/link-platform.ts; all the rest runs here as it is. */
describe.each(SYSTEMS)("the program that takes the system for %s", (system, place) => {
  let folder: TestFolder;
  let bench = "";
  let board = "";
  let env: NodeJS.ProcessEnv = {};
  beforeAll(async () => {
    folder = await testFolder();
    bench = path.join(folder.path, "bench.json");
    board = path.join(folder.path, "board.json");
    await mkdir(path.join(folder.path, "Local"));
    env = {
      HOME: folder.path,
      LOCALAPPDATA: path.join(folder.path, "Local"),
      FIRSTAMP_DATA: "",
      XDG_DATA_HOME: "",
      NODE_OPTIONS: `--import=${BEFORE}`,
      FIRSTAMP_TEST_PLATFORM: system,
      // The machine code of the database's package is that of the real system.
      npm_config_platform: process.platform,
    };
  });
  const simulated = async (): Promise<void> => {
    const simulation = startProgram(["simulate", "--scenario", "single-feed", "--out", bench, "--board-out", board]);
    await simulation.until("err", /Simulated instruments are up/);
  };
  afterEach(endPrograms);
  afterAll(() => folder.remove());
  const POWER = (): string[] => [
    "powerup",
    "--bench",
    bench,
    "--board",
    board,
    "--json",
    "--waive",
    "a simulated board",
  ];

  it("powers a board up, names its draw, switches off, and keeps the record in that system's place", async () => {
    await simulated();
    const args = [...POWER(), "--watch", "5", "--host", "none", "--fans", "off"];
    let tries = 0;
    const end = await endedInTime(() => {
      tries++;
      return runProgram(args, { env });
    });
    const document = JSON.parse(end.out || "{}");
    expect(document, end.err).toMatchObject({ class: "normal", output: "off" });
    expect(end.code).toBe(0);
    expect(existsSync(path.join(folder.path, ...place, "firstamp.db"))).toBe(true);
    const jobs = JSON.parse((await runProgram(["job", "list", "--json"], { env })).out);
    expect(jobs.jobs).toHaveLength(tries);
    expect(jobs.jobs.map((each: { job: string }) => each.job)).toContain(document.job);
  });

  it("killed while a board is on leaves nothing on: the guardian switches off", async () => {
    await simulated();
    const held = startProgram([...POWER(), "--watch", "1", "--keep-on"], { env });
    await held.until("out", /"output":\s*"on"/);
    held.child.kill("SIGKILL");
    await held.ended;
    // The supply's one channel is asked over a connection of its own, by another process.
    const said = (): string =>
      execFileSync(process.execPath, [path.join(ROOT, "tests/command/ask-output.mjs"), bench], { encoding: "utf8" });
    await expect.poll(said, { timeout: 20_000, interval: 200 }).toMatch(/^(0|OFF)$/m);
    // Its proof takes another look at a supply that is still there.
    await mustHaveNoGuardian(folder.path);
  });
});
