import { fileURLToPath } from "node:url";
import { afterEach, beforeEach, expect, test, vi } from "vitest";
import { diagnoseCommand } from "../../src/command/diagnose.ts";
import { openJobStore } from "../../src/job/store/open-job-store.ts";
import { withFolder } from "./sample-job.ts";

const BOARD = fileURLToPath(new URL("../../scenarios/boards/kestrel-k2.json", import.meta.url));

let out = "";
beforeEach(() => {
  out = "";
  vi.spyOn(process.stdout, "write").mockImplementation((text) => {
    out += String(text);
    return true;
  });
});
afterEach(() => {
  vi.restoreAllMocks();
});

interface Answered {
  faults: { element: string; kind: string }[];
  next: { measure: string }[];
  notes: string[];
  caution: string;
  readings: { host?: string; coldOhms: Record<string, unknown>; checks: Record<string, string> };
}

async function diagnosed(dir: string, job: string, ...args: string[]): Promise<Answered> {
  out = "";
  await diagnoseCommand()
    .exitOverride()
    .parseAsync(["--job", job, "--board", BOARD, "--data", dir, "--json", ...args], { from: "user" });
  return JSON.parse(out) as Answered;
}

async function newJob(dir: string): Promise<string> {
  const store = await openJobStore(dir);
  const job = await store.newJob({ board: "Kestrel K2" });
  await store.appendEvent(job, {
    kind: "cold-readings",
    ohms: { core: 0.01, aux: 12000 },
    by: "hand",
    boardCelsius: null,
  });
  await store.close();
  return job;
}

test("cold readings that are filed with a job are evidence: 10 mΩ of core is its short", () =>
  withFolder(async (dir) => {
    const { faults, readings, caution } = await diagnosed(dir, await newJob(dir));
    expect(readings.coldOhms).toEqual({ core: 0.01, aux: 12000 });
    expect(`${faults[0]?.element} ${faults[0]?.kind}`).toBe("core short");
    expect(caution).toMatch(/a wrong fault came first .* in \d+ % of searches/);
  }));

test("an answer is filed and counted by one command, and counts the next time too", () =>
  withFolder(async (dir) => {
    const job = await newJob(dir);
    const first = await diagnosed(dir, job, "--answer", "lanes=one-differs", "--answer", "host=none");
    expect(first.readings).toMatchObject({ host: "none", checks: { lanes: "one-differs" } });
    expect(first.notes.join(" ")).toContain("No host is attached");
    expect((await diagnosed(dir, job)).readings).toEqual(first.readings);
    const later = await diagnosed(dir, job, "--answer", "lanes=alike");
    expect(later.readings.checks).toEqual({ lanes: "alike" });
  }));

test("an answer that the board has no look for is refused, and nothing is filed", () =>
  withFolder(async (dir) => {
    const job = await newJob(dir);
    for (const answer of ["lanes=purple", "nonsense=yes", "host=maybe", "state=on", "lanes"])
      await expect(diagnosed(dir, job, "--answer", answer), answer).rejects.toMatchObject({ code: "bad-input" });
    expect((await diagnosed(dir, job)).readings.checks).toEqual({});
  }));

test("what was filed before a repair no longer counts", () =>
  withFolder(async (dir) => {
    const job = await newJob(dir);
    const store = await openJobStore(dir);
    await store.appendEvent(job, { kind: "repair", text: "stage replaced", parts: [] });
    await store.close();
    expect((await diagnosed(dir, job)).readings.coldOhms).toEqual({});
  }));
