import { mkdtemp, rm, writeFile } from "node:fs/promises";
import os from "node:os";
import path from "node:path";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { findCommand } from "../../src/command/find.ts";
import { find } from "../../src/command/power/find-run.ts";
import { type Simulation, startSimulation } from "../../src/simulator/start-simulation.ts";
import { realClock } from "../../src/system/real-clock.ts";

let sim: Simulation | undefined;
let folder = "";
const written = { out: "", err: "" };
beforeEach(async () => {
  folder = await mkdtemp(path.join(os.tmpdir(), "firstamp-find-"));
  written.out = "";
  written.err = "";
  vi.spyOn(process.stdout, "write").mockImplementation((text) => {
    written.out += String(text);
    return true;
  });
  vi.spyOn(process.stderr, "write").mockImplementation((text) => {
    written.err += String(text);
    return true;
  });
});
afterEach(async () => {
  vi.restoreAllMocks();
  await sim?.close();
  sim = undefined;
  await rm(folder, { recursive: true });
});

async function benchFile(dialect: "numbered" | "selection", transport: "tcp" | "pty" = "tcp"): Promise<string> {
  sim = await startSimulation({ scenario: "normal", dialect, transport, clock: realClock });
  const file = path.join(folder, "bench.json");
  await writeFile(file, JSON.stringify(sim.benchFile));
  return file;
}
const document = () => JSON.parse(written.out) as { links: Record<string, unknown>[] };

describe("find", () => {
  it.each(["tcp", "pty"] as const)(
    "identifies what answers on %s, says which driver fits and why, in one document",
    async (transport) => {
      const bench = await benchFile("selection", transport);
      expect(await find([], { bench, only: true, json: true })).toBe(0);
      const { links } = document();
      expect(links).toHaveLength(2);
      expect(links[0]).toMatchObject({
        answered: true,
        kind: "supply",
        driver: "selected-supply",
        serialNumber: "SN1",
        problem: null,
      });
      expect(links[0]?.["why"]).toContainEqual(expect.stringContaining("numbered-supply: left"));
      expect(links[1]).toMatchObject({ kind: "meter", driver: "scpi-meter" });
    },
  );

  it("knows a supply and a meter by their addresses alone", async () => {
    await benchFile("numbered");
    const addresses = Object.values(sim?.benchFile.instruments ?? {}).map((each) => each.address);
    expect(await find(addresses, { only: true, json: true })).toBe(0);
    expect(document().links.map((each) => each["driver"])).toEqual(["numbered-supply", "scpi-meter"]);
  });

  it("sends questions only, and switches nothing", async () => {
    const bench = await benchFile("numbered");
    await find([], { bench, only: true, json: true });
    const history = sim?.history() ?? [];
    expect(history.filter((each) => each.kind === "command").length).toBeGreaterThan(3);
    for (const each of history) if (each.kind === "command") expect(each.text).toContain("?");
    expect(history.filter((each) => each.kind === "state")).toEqual([]);
  });

  it("ends with 5 where nothing answers, and says why for each address", async () => {
    // Port 9 of this machine: nobody listens there.
    expect(await find(["TCPIP0::127.0.0.1::9::SOCKET"], { only: true, json: true })).toBe(5);
    expect(document().links[0]).toMatchObject({ answered: false, identity: null });
    expect(document().links[0]?.["problem"]).toMatch(/127\.0\.0\.1/);
    expect(written.err).toContain("No instrument answered");
  });

  it("ends with 2 on an address that is none and on half a bench file", async () => {
    expect(await find(["COM9"], { only: true })).toBe(2);
    const file = path.join(folder, "half.json");
    await writeFile(file, '{ "version": 1, "instruments": {');
    expect(await find([], { bench: file, only: true })).toBe(2);
    expect(written.err).toContain("half.json");
  });

  it("has words for people", async () => {
    const bench = await benchFile("numbered");
    await find([], { bench, only: true });
    expect(written.out).toMatch(/answers: Bench,SIM-NUMBERED,SN1.*\n {2}supply, driver numbered-supply/);
  });

  it("has help with its exit codes", () => {
    let help = "";
    const command = findCommand().configureOutput({ writeOut: (text) => (help += text) });
    command.outputHelp();
    expect(help).toMatch(/Exit codes: 0 .* 2 .* 5 /);
    expect(help).toContain("--bench");
  });
});
