import { mkdir, readFile, writeFile } from "node:fs/promises";
import path from "node:path";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type Ended, endPrograms, runProgram, startProgram, type TestFolder, testFolder } from "./run-program.ts";
import { serveProgram } from "./served-bench.ts";

/** A bench whose one supply nobody serves: what needs it ends with 5 and says its name. */
const benchOf = (name: string): object => ({
  version: 1,
  instruments: { [name]: { kind: "supply", address: "TCPIP0::127.0.0.1::1::SOCKET", driver: "plain-supply" } },
  feeds: { aux: { supply: name, channel: 1 } },
});
const BOARD = { version: 1, name: "Wren W1", feeds: { aux: { nominalVolts: 12 } } };

describe("firstamp use", () => {
  let folder: TestFolder;
  let data = "";
  let bench = "";
  let board = "";
  const program = (...args: string[]): Promise<Ended> => runProgram([...args, "--data", data]);
  const powerup = (...args: string[]): Promise<Ended> => program("powerup", "--json", ...args);
  const firstLine = ({ err }: Ended): string | undefined => err.split("\n")[0];
  const fresh = async (name: string): Promise<void> => {
    data = path.join(folder.path, name);
    await mkdir(data, { mode: 0o700 });
  };
  beforeAll(async () => {
    folder = await testFolder();
    bench = await folder.write("bench.json", benchOf("first"));
    board = await folder.write("board.json", BOARD);
  });
  afterAll(async () => {
    await endPrograms();
    await folder.remove();
  });

  it("keeps files by their absolute paths, told apart by their content, and shows what is set", async () => {
    await fresh("kept");
    const set = await runProgram(["use", "board.json", "bench.json", "--fans", "off", "--json", "--data", data], {
      cwd: folder.path,
    });
    const all = { bench, board, host: null, fans: "off", cooler: null, job: null, file: path.join(data, "use.json") };
    expect(JSON.parse(set.out)).toEqual(all);
    expect(JSON.parse((await program("use", "--json")).out)).toEqual(all);
    expect((await program("use")).out).toContain(`board   ${board}`);
  });

  it("is taken where an option is not given, and said in the first line", async () => {
    await fresh("taken");
    await program("use", bench, board, "--host", "none", "--cooler", "block");
    const end = await powerup("--fans", "on");
    expect(end.code).toBe(5);
    expect(firstLine(end)).toBe(`From "firstamp use": bench ${bench}, board ${board}, host none, cooler block`);
    expect(end.err).toContain('"first"');
  });

  it("goes behind an option that is given, and --fresh takes nothing", async () => {
    await fresh("given");
    await program("use", bench);
    const other = await folder.write("other.json", benchOf("second"));
    const given = await powerup("--bench", other);
    expect(given.err).not.toContain("firstamp use");
    expect(given.err).toContain('"second"');
    const without = await powerup("--fresh");
    expect(without.code).toBe(2);
    expect(without.err).toMatch(/'--bench <file>' not specified/);
  });

  it("is shown and changed by the page as by the command line, each file read and checked before anything is changed", async () => {
    await fresh("page");
    await program("use", bench, "--host", "none");
    const { port, token, program: daemon } = await serveProgram(["--fresh"], data);
    const url = `http://127.0.0.1:${port}/api/set-once`;
    const headers = { authorization: `Bearer ${token}`, "content-type": "application/json" };
    const change = async (body: unknown): Promise<{ status: number; text: string }> => {
      const reply = await fetch(url, { method: "POST", headers, body: JSON.stringify(body) });
      return { status: reply.status, text: await reply.text() };
    };
    const shown = await (await fetch(url, { headers })).json();
    const empty = { board: null, fans: null, cooler: null, job: null, problem: null };
    expect(shown).toEqual({ ...empty, bench, host: "none" });
    expect((await change({ file: board, cooler: "block", forget: ["host"] })).status).toBe(200);
    const kept = JSON.parse((await program("use", "--json")).out) as Record<string, unknown>;
    expect(kept).toMatchObject({ bench, board, host: null, cooler: "block" });
    const bad = await folder.write("bad.json", { version: 1, name: "x" });
    for (const wrong of [
      { file: bad },
      { file: `${bad}.not-there` },
      { job: "no-such-job" },
      { host: "maybe" },
      { ohms: 1 },
    ])
      expect([wrong, (await change(wrong)).status]).toEqual([wrong, 400]);
    expect(JSON.parse((await program("use", "--json")).out)).toEqual(kept);
    expect((await fetch(url)).status).toBe(401);
    daemon.child.kill("SIGTERM");
    await daemon.ended;
  });

  it("belongs to one data directory", async () => {
    await fresh("one");
    await program("use", bench);
    await fresh("another");
    expect((await powerup()).code).toBe(2);
  });

  it.each(["--ohms", "--checked", "--waive"])("never takes %s", async (option) => {
    await fresh(`never${option}`);
    const end = await program("use", bench, option, "x");
    expect(end.code).toBe(2);
    expect(JSON.parse((await program("use", "--json")).out)).toMatchObject({ bench: null });
  });

  it.each([
    ["a board file that is wrong", () => ["wrong.json"], /feeds/],
    ["two bench files", () => [bench, bench], /bench file was given already/],
    ["a job that is not there", () => [bench, "--job", "ffffffff"], /no job/],
    ["a name nothing is called", () => ["--forget", "ohms"], /all, or some of bench,board/],
  ])("refuses %s and changes nothing", async (why, args, says) => {
    await fresh(`refused ${why}`);
    await folder.write("wrong.json", { version: 1, name: "x", feeds: {} });
    await program("use", board, "--fans", "off");
    const end = await runProgram(["use", ...args(), "--data", data], { cwd: folder.path });
    expect(end.code).toBe(2);
    expect(end.err).toMatch(says);
    expect(JSON.parse((await program("use", "--json")).out)).toMatchObject({ board, fans: "off", bench: null });
  });

  it("forgets what is named, and the file with the last of it", async () => {
    await fresh("forgotten");
    await program("use", bench, board, "--fans", "off");
    await program("use", "--forget", "board,fans");
    expect(JSON.parse((await program("use", "--json")).out)).toMatchObject({ bench, board: null, fans: null });
    await program("use", "--forget", "all");
    await expect(readFile(path.join(data, "use.json"))).rejects.toThrow(/ENOENT/);
  });

  it("with a damaged file refuses in words what would use it, and hinders no off", async () => {
    await fresh("damaged");
    await writeFile(path.join(data, "use.json"), '{"version":1,"bench":5}', { mode: 0o600 });
    const end = await powerup();
    expect(end.code).toBe(2);
    expect(end.err).toMatch(/bench is 5; it should be a text.*nothing was touched.*--forget all/s);
    expect((await program("off")).code).toBe(0);
    await program("use", "--forget", "all");
    expect((await program("use")).out).toContain("Nothing is set");
  });

  it("keeps the board file to the current job: another job gets none of it", async () => {
    await fresh("jobs");
    const [mine, others] = [(await program("job", "new")).out.trim(), (await program("job", "new")).out.trim()];
    await program("use", bench, board, "--job", mine.slice(-8));
    expect(firstLine(await powerup())).toMatch(/, board .*, job /);
    expect(firstLine(await powerup("--job", mine))).toMatch(/, board /);
    const line = firstLine(await powerup("--job", others));
    expect(line).toContain(`bench ${bench}`);
    expect(line).not.toContain("board");
  });

  it("goes into the record of a run as if it had been typed", async () => {
    await fresh("recorded");
    const files = [path.join(folder.path, "sim.json"), path.join(folder.path, "sim-board.json")];
    const [simBench = "", simBoard = ""] = files;
    const simulation = startProgram([
      "simulate",
      "--scenario",
      "single-feed",
      "--out",
      simBench,
      "--board-out",
      simBoard,
    ]);
    await simulation.until("err", /Simulated instruments are up/);
    const job = (await program("job", "new")).out.trim();
    await program("use", ...files, "--host", "none", "--fans", "off", "--cooler", "block", "--job", job);
    const end = await powerup("--waive", "a simulated board", "--watch", "1");
    expect(JSON.parse(end.out)).toMatchObject({ job, output: "off" });
    const shown = (await program("job", "show", job, "--json")).out;
    expect(shown).toMatch(/"host": ?"none"/);
    expect(shown).toMatch(/"fans": ?"off"/);
    expect(shown).toMatch(/"cooler": ?"block"/);
  });

  it("writes nothing where the data directory cannot be written, and says so", async () => {
    await fresh("read-only");
    await writeFile(path.join(folder.path, "flat"), "");
    data = path.join(folder.path, "flat", "data");
    const end = await program("use", bench);
    expect(end.code).toBe(2);
    expect(end.err).toMatch(/Cannot write .*use\.json: .*nothing was changed/);
  });
});
