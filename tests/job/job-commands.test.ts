import { existsSync, readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { afterEach, beforeEach, expect, test, vi } from "vitest";
import { readCaptureCsv } from "../../src/capture/read-capture-csv.ts";
import { jobCommand } from "../../src/command/job.ts";
import { openJobStore } from "../../src/job/store/open-job-store.ts";
import { fileRun, withFolder } from "./sample-job.ts";

let out = "";
let err = "";

beforeEach(() => {
  out = err = "";
  vi.spyOn(process.stdout, "write").mockImplementation((text) => {
    out += String(text);
    return true;
  });
  vi.spyOn(process.stderr, "write").mockImplementation((text) => {
    err += String(text);
    return true;
  });
});
afterEach(() => {
  vi.restoreAllMocks();
});

/** Runs `job …` in this process and gives what came on standard output. */
async function job(dir: string, ...args: string[]): Promise<string> {
  out = "";
  err = "";
  await jobCommand()
    .exitOverride()
    .parseAsync([...args, "--data", dir], { from: "user" });
  return out;
}
const json = async (dir: string, ...args: string[]) => {
  const text = await job(dir, ...args, "--json");
  expect(text.trim().split("\n")).toHaveLength(1);
  return JSON.parse(text);
};

test("a job is opened, noted, attached to, listed and shown", () =>
  withFolder(async (dir) => {
    const { job: id } = await json(dir, "new", "--title", "K2 of Mrs. Tern");
    const photo = join(dir, "photo.png");
    writeFileSync(photo, Buffer.from("89504e470d0a1a0a", "hex"));
    expect(await json(dir, "note", id.slice(-8), "smells", "burnt")).toMatchObject({ job: id, seq: 2 });
    expect((await json(dir, "attach", id, photo, "--caption", "front")).attached).toMatchObject([
      { name: "photo.png", mediaType: "image/png", seq: 3 },
    ]);
    expect((await json(dir, "list")).jobs).toMatchObject([{ job: id, title: "K2 of Mrs. Tern", events: 3 }]);
    const shown = await json(dir, "show", id);
    expect(shown.log.map((each: { event: { kind: string } }) => each.event.kind)).toEqual([
      "opened",
      "note",
      "attachment",
    ]);
    expect(await job(dir, "show", id)).toContain("smells burnt");
    expect(err).toBe("");
    expect(await job(dir, "check")).toContain("Read: 1 job, 3 events, 0 captures, 1 attachment.\n");
  }));

test("a list of nothing is empty, and looking makes no record", () =>
  withFolder(async (dir) => {
    expect(await json(join(dir, "none"), "list")).toEqual({ jobs: [] });
    expect(await job(dir, "list")).toBe("No jobs yet.\n");
    await expect(job(dir, "show", "abcd")).rejects.toThrow(/There is no job record/);
  }));

test("escape sequences in a title never reach the terminal; formulas never reach a spreadsheet", () =>
  withFolder(async (dir) => {
    await job(dir, "new", "--title", "\u001b[2J=cmd|x");
    await job(dir, "new", "--title", "=1+1");
    const list = await job(dir, "list");
    expect(list).not.toContain("\u001b");
    expect(list).toContain("\u241b[2J");
    const table = await job(dir, "list", "--csv");
    expect(table).toContain(`,"'=1+1",`);
    expect(table.split("\r\n")).toHaveLength(4);
  }));

test("looking works while another process owns the record, writing says who owns it", () =>
  withFolder(async (dir) => {
    const { job: id } = await json(dir, "new");
    const owner = await openJobStore(dir, { command: "firstamp serve", ballastBytes: 0 });
    expect((await json(dir, "list")).jobs).toHaveLength(1);
    expect((await json(dir, "show", id)).job).toBe(id);
    await expect(job(dir, "note", id, "x")).rejects.toMatchObject({
      code: "data-in-use",
      message: expect.stringMatching(/firstamp serve/),
    });
    const report = join(dir, "report.html");
    expect(await json(dir, "report", id, "--out", report)).toMatchObject({ filed: false });
    await owner.close();
    expect(await json(dir, "report", id, "--out", report)).toMatchObject({ filed: true });
  }));

test("a report replaces an earlier report and nothing else", () =>
  withFolder(async (dir) => {
    const { job: id } = await json(dir, "new");
    const report = join(dir, "report.html");
    await job(dir, "report", id, "--out", report);
    await job(dir, "report", id, "--out", report);
    expect(readFileSync(report, "utf8")).toMatch(/^<!doctype html>/);
    const bench = join(dir, "bench.json");
    writeFileSync(bench, "{}");
    await expect(job(dir, "report", id, "--out", bench)).rejects.toThrow(/another file is there/);
    expect(readFileSync(bench, "utf8")).toBe("{}");
    await expect(job(dir, "report", id, "--out", join(dir, "no", "x.html"))).rejects.toMatchObject({
      code: "data-not-writable",
    });
  }));

test("an archive goes from one record to another, and the second import says that it did nothing", () =>
  withFolder((first) =>
    withFolder(async (second) => {
      const { job: id } = await json(first, "new", "--title", "travels");
      const archive = join(first, "job.zip");
      expect(await json(first, "export", id, "--out", archive)).toEqual({ job: id, out: archive, done: "written" });
      const came = { file: "job.zip", by: [expect.any(String)], signed: false };
      expect(await json(second, "import", archive)).toMatchObject({ job: id, done: "imported", came });
      expect(await json(second, "import", archive)).toEqual({ job: id, done: "same" });
      expect((await json(second, "list")).jobs).toMatchObject([{ title: "travels" }]);
    }),
  ));

test("the readings of the last run come out as CSV that can be read back, and never over a file", () =>
  withFolder(async (dir) => {
    const store = await openJobStore(dir, { ballastBytes: 0 });
    const id = await store.newJob();
    await expect(job(dir, "export", id, "--csv", "--out", join(dir, "x.csv"))).rejects.toThrow(/no run/);
    await fileRun(store, id, { amps: [0, 2.125, 0.82] });
    await store.close();
    const file = join(dir, "x.csv");
    await job(dir, "export", id, "--csv", "--out", file);
    const [trace] = await readCaptureCsv(file);
    expect([...(trace?.amps ?? [])]).toEqual([0, 2.125, 0.82]);
    expect(trace).toMatchObject({ feed: "aux", leadOhms: 0.04, accuracy: { ampsShare: 0.001, ampsOffset: 0.003 } });
    await expect(job(dir, "export", id, "--csv", "--out", file)).rejects.toThrow(/the file exists already/);
  }));

test("a part of a run comes out as CSV, with what was set when it was read", () =>
  withFolder(async (dir) => {
    const store = await openJobStore(dir, { ballastBytes: 0 });
    const id = await store.newJob();
    // Ten milliseconds apart, from 0.
    const first = await fileRun(store, id, { amps: [0, 2.125, 0.82, 0.81, 0.8] });
    await fileRun(store, id);
    const other = await store.newJob();
    await store.close();
    const part = ["--csv", "--capture", first.capture, "--from", "0.01", "--to", "0.03"];
    const file = join(dir, "part.csv");
    expect(await json(dir, "export", id, ...part, "--out", file)).toMatchObject({ capture: first.capture });
    const [trace] = await readCaptureCsv(file);
    expect([...(trace?.atMs ?? [])]).toEqual([10, 20, 30]);
    expect([...(trace?.amps ?? [])]).toEqual([2.125, 0.82, 0.81]);
    const none = join(dir, "none.csv");
    await expect(job(dir, "export", other, ...part, "--out", none)).rejects.toThrow(/belongs to another job/);
    await expect(job(dir, "export", id, "--csv", "--from", "9", "--out", none)).rejects.toThrow(/no reading/);
    await expect(job(dir, "export", id, "--from", "1", "--out", none)).rejects.toThrow(/need --csv/);
    expect(existsSync(none)).toBe(false);
  }));

test.each([
  ["new", "an argument too many"],
  ["show"],
  ["note", "abcd"],
  ["export", "abcd"],
  ["compare", "abcd"],
  ["list", "--no-such-option"],
])("job %s %s is refused by the parser", (...args) =>
  withFolder(async (dir) => {
    await expect(
      (async () => {
        const command = jobCommand();
        for (const each of command.commands) each.exitOverride();
        await command.exitOverride().parseAsync([...args, "--data", dir], { from: "user" });
      })(),
    ).rejects.toMatchObject({ code: expect.stringMatching(/^commander\./) });
  }),
);

test("what became of a board is filed and shown", () =>
  withFolder(async (dir) => {
    const { job: id } = await json(dir, "new", "--title", "K2");
    expect(await json(dir, "result", id, "passed", "soaked", "overnight")).toMatchObject({ job: id, result: "passed" });
    const shown = await json(dir, "show", id);
    expect(shown.log[1].event).toEqual({ kind: "result", result: "passed", text: "soaked overnight" });
    expect(await job(dir, "show", id)).toContain("passed: soaked overnight");
  }));

test("a test done before the last repair is one of the board before it, whenever it is filed, and that is said", () =>
  withFolder(async (dir) => {
    const { job: id } = await json(dir, "new", "--title", "K2");
    const file = join(dir, "tests.json");
    const fileTest = async (doneAt: string | null, result: string): Promise<void> => {
      writeFileSync(file, JSON.stringify({ name: "memory", result, doneAt }));
      await job(dir, "test", id, "--file", file);
    };
    const isMemoryTested = async (): Promise<boolean> => {
      const path = join(dir, "report.html");
      await job(dir, "report", id, "--out", path);
      return !readFileSync(path, "utf8").includes("<li>Memory test (nothing was filed about it)</li>");
    };
    await job(dir, "repair", id, "resoldered", "the", "core");
    await fileTest("2001-02-03T04:05:06Z", "pass");
    expect(err).toMatch(/"memory" is dated 2001-02-03T04:05:06Z, before the last repair was filed .*before the repair/);
    expect(await isMemoryTested()).toBe(false);
    await fileTest(null, "pass");
    expect(err).not.toContain("before the repair");
    expect(await isMemoryTested()).toBe(true);
  }));
