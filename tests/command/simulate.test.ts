import { type ChildProcess, spawn } from "node:child_process";
import { mkdtemp, readFile, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { afterEach, describe, expect, test } from "vitest";
import { BenchFile } from "../../shared/files/bench-file.ts";
import { BoardFile } from "../../shared/files/board-file.ts";
import { openLineClient } from "../simulator/line-client.ts";

const program = fileURLToPath(new URL("../../dist/src/main.js", import.meta.url));
const running: ChildProcess[] = [];
afterEach(async () => {
  for (const child of running.splice(0)) {
    if (child.exitCode !== null || child.signalCode !== null) continue;
    const gone = new Promise((resolve) => child.once("exit", resolve));
    child.kill("SIGKILL");
    await gone;
  }
});

/** Starts `firstamp simulate`; `ready` resolves when a whole line is on stdout. */
function simulate(...args: string[]) {
  const child = spawn(process.execPath, [program, "simulate", ...args], { stdio: ["pipe", "pipe", "pipe"] });
  running.push(child);
  const said = { out: "", err: "" };
  child.stderr.on("data", (bytes) => {
    said.err += bytes;
  });
  const ready = new Promise<void>((resolve) => {
    child.stdout.on("data", (bytes) => {
      said.out += bytes;
      if (said.out.endsWith("\n")) resolve();
    });
    child.once("exit", () => resolve());
  });
  const ended = new Promise<number | null>((resolve) => child.once("close", (code) => resolve(code)));
  return { child, said, ready, ended };
}

describe.each([[["--json"]], [["--json", "--serial"]]])("simulate %j", (args) => {
  test("prints a bench file whose instruments answer, and ends with 0 on SIGTERM", async () => {
    const { child, said, ready, ended } = simulate("--scenario", "single-feed", ...args);
    await ready;
    const bench = BenchFile.parse(JSON.parse(said.out));
    const psu = await openLineClient(bench.instruments["psu"]?.address ?? "");
    expect(await psu.ask("*IDN?")).toMatch(/^Bench,SIM-NUMBERED,/);
    await psu.close();
    child.kill("SIGTERM");
    expect(await ended).toBe(0);
    expect(said.err).toContain("Wren W1");
  });
});

test("the probe goes where a line on stdin says", async () => {
  const { child, said, ready } = simulate("--json", "--scenario", "single-feed");
  await ready;
  const bench = BenchFile.parse(JSON.parse(said.out));
  const meter = await openLineClient(bench.instruments["dmm"]?.address ?? "");
  // SCPI-1999: 9.9E37 is infinity, what a meter with its probe in the air answers in ohms.
  expect(Number(await meter.ask("MEAS:FRES?"))).toBe(9.9e37);
  child.stdin.write("probe core\n");
  let ohms = 9.9e37;
  while (ohms > 2.3 || ohms < 2.1) ohms = Number(await meter.ask("MEAS:FRES?"));
  child.stdin.write("probe nowhere\n");
  await new Promise<void>((resolve) => {
    const look = () => (said.err.includes('no point "nowhere"') ? resolve() : void child.stderr.once("data", look));
    look();
  });
  await meter.close();
});

test("--out and --board-out write the two files", async () => {
  const folder = await mkdtemp(join(tmpdir(), "firstamp-simulate-"));
  try {
    const { child, ready, ended } = simulate(
      "--out",
      join(folder, "bench.json"),
      "--board-out",
      join(folder, "board.json"),
    );
    await ready;
    const bench = BenchFile.parse(JSON.parse(await readFile(join(folder, "bench.json"), "utf8")));
    const board = BoardFile.parse(JSON.parse(await readFile(join(folder, "board.json"), "utf8")));
    expect(Object.keys(bench.feeds)).toEqual(Object.keys(board.feeds));
    child.kill("SIGINT");
    expect(await ended).toBe(0);
  } finally {
    await rm(folder, { recursive: true, force: true });
  }
});

test("--list names every scenario with what its draw should be called", async () => {
  const { said, ended } = simulate("--list", "--json");
  expect(await ended).toBe(0);
  const list = JSON.parse(said.out);
  expect(list.length).toBeGreaterThanOrEqual(16);
  expect(list).toContainEqual(expect.objectContaining({ name: "dead-short", class: "dead-short" }));
});

test("a scenario that is not there is exit 2 with those that are", async () => {
  const { said, ended } = simulate("--scenario", "nosuch");
  expect(await ended).toBe(2);
  expect(said.err).toContain("open-input");
  expect(said.out).toBe("");
});
