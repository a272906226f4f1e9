import { readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { afterEach, beforeEach, expect, test, vi } from "vitest";
import { FileBody } from "../../shared/wire-http.ts";
import { jobCommand } from "../../src/command/job.ts";
import { jobsForPage } from "../../src/daemon/page/jobs-for-page.ts";
import { recordReads } from "../../src/daemon/reads/record-reads.ts";
import { sampleDevice, sampleLook } from "../host/sample-look.ts";
import { withFolder, withStore } from "./sample-job.ts";

let out = "";
beforeEach(() => {
  vi.spyOn(process.stdout, "write").mockImplementation((text) => {
    out += String(text);
    return true;
  });
  vi.spyOn(process.stderr, "write").mockImplementation(() => true);
});
afterEach(() => {
  vi.restoreAllMocks();
});

async function job(dir: string, ...args: string[]): Promise<string> {
  out = "";
  await jobCommand()
    .exitOverride()
    .parseAsync([...args, "--data", dir], { from: "user" });
  return out;
}
const json = async (dir: string, ...args: string[]) => JSON.parse(await job(dir, ...args, "--json"));
const file = (dir: string, name: string, content: string | Uint8Array): string => {
  const path = join(dir, name);
  writeFileSync(path, content);
  return path;
};

const look = (active: boolean, lookedAt: string, ...cards: object[]): string => {
  const port = sampleDevice("0000:00:01.0", {
    class: "060400",
    link: { speedGt: 2.5, width: active ? 8 : 0, maxSpeedGt: 8, maxWidth: 16 },
    port: { secondaryBus: 1, presence: "present", linkActive: active },
  });
  return JSON.stringify(sampleLook(lookedAt, [port, ...cards]));
};

test("a job from a board nobody sees to one that is listed: word, control, tests and the report's table", () =>
  withFolder(async (dir) => {
    const { job: id } = await json(dir, "new", "--title", "K2");
    const attach = (name: string, text: string, ...more: string[]) =>
      json(dir, "attach", id, file(dir, name, text), ...more);
    const before = await attach("look.json", look(false, "2026-11-29T10:00:00.000Z"), "--port", "00:01.0");
    expect(before.attached[0].finding).toMatchObject({
      kind: "host-look",
      verdict: { word: "no-link", port: "0000:00:01.0" },
    });
    const card = sampleDevice("0000:01:00.0");
    await attach("control.json", look(true, "2026-11-29T10:05:00.000Z", card), "--control");
    const again = await attach("again.json", look(false, "2026-11-29T10:10:00.000Z"));
    expect(again.attached[0].finding.verdict.because.join()).toContain("so the slot works");
    await job(dir, "test", id, "host-boots", "0/3");
    expect((await json(dir, "report", id, "--out", join(dir, "before.html"))).job).toBe(id);
    await attach("after.json", look(true, "2026-11-29T11:00:00.000Z", card));
    await job(dir, "test", id, "host-boots", "5/5", "--by", "R.");
    await job(dir, "test", id, "memory", "fail", "--at", "0x7f3a0000");
    const load = file(
      dir,
      "load.json",
      JSON.stringify({
        tests: [{ name: "load", result: "pass", minutes: 40, hottest: { where: "core", celsius: 78 } }],
      }),
    );
    expect((await json(dir, "test", id, "--file", load)).tests).toMatchObject([
      { name: "load", result: "pass", minutes: 40 },
    ]);
    const path = join(dir, "report.html");
    await job(dir, "report", id, "--out", path);
    const report = readFileSync(path, "utf8")
      .replace(/<[^>]+>/g, " ")
      .replace(/\s+/g, " ");
    expect(report).toMatch(/full link pass host-boots: pass, 5 of 5, by R\.; listed by the host/);
    expect(report).toMatch(/Memory test fail memory: fail, fails at 0x7f3a0000/);
    expect(report).toMatch(/temperatures watched pass load: pass, 40 min, hottest 78 °C at core/);
    expect(await job(dir, "show", id)).toContain("not listed by the host: it has no link");
    const archive = join(dir, "job.zip");
    await job(dir, "export", id, "--out", archive);
    await withFolder(async (other) => {
      expect(await json(other, "import", archive)).toMatchObject({ job: id });
      const { log } = await json(other, "show", id);
      expect(log.at(-1).event).toMatchObject({ kind: "imported", signed: false });
      expect(log.slice(0, -1)).toEqual((await json(dir, "show", id)).log);
    });
  }));

test("the lines of a watch and the text of lspci are looks too; other texts and broken ones are only kept", () =>
  withFolder(async (dir) => {
    const { job: id } = await json(dir, "new");
    const finding = async (name: string, text: string, ...more: string[]) =>
      (await json(dir, "attach", id, file(dir, name, text), ...more)).attached[0].finding;
    const gone = {
      event: "change",
      at: "2026-11-29T10:20:00.000Z",
      address: "0000:01:00.0",
      what: "gone",
      from: "1234:1111",
      to: null,
    };
    const watch = `${look(true, "2026-11-29T10:00:00.000Z", sampleDevice("0000:01:00.0"))}\n${JSON.stringify(gone)}\n{"event":"chan`;
    expect(await finding("watch.jsonl", watch, "--port", "00:01.0")).toMatchObject({
      verdict: { word: "fell-off" },
      changes: [gone],
    });
    expect(
      await finding("lspci.txt", "01:00.0 Class 0300: Device 1234:1111 (rev a1)\n\tControl: I/O+\n"),
    ).toMatchObject({ kind: "host-look" });
    expect(await finding("note.txt", "It smells burnt at 01:00.")).toBeNull();
    expect(await finding("other.json", '{"format":"something-else"}')).toBeNull();
    expect(await finding("plain.json", look(true, "2026-11-29T10:00:00.000Z"), "--as", "plain")).toBeNull();
    await expect(job(dir, "attach", id, file(dir, "no.txt", "nothing"), "--as", "host")).rejects.toThrow(
      /as a host look/,
    );
  }));

const RESULTS = {
  tests: [
    { name: "host-boots", result: "pass", passed: 5, of: 5 },
    { name: "load", result: "pass", minutes: 40, hottest: { where: "core", celsius: 78 }, by: "R." },
  ],
};

test("a results file that is attached files its tests once; damaged ones are kept and say what is wrong", () =>
  withFolder(async (dir) => {
    const { job: id } = await json(dir, "new");
    const attach = async (name: string, content: unknown, ...more: string[]) => {
      const text = typeof content === "string" ? content : JSON.stringify(content);
      return (await json(dir, "attach", id, file(dir, name, text), ...more)).attached[0];
    };
    const tests = async () =>
      (await json(dir, "show", id)).log.flatMap(({ event }: { event: { kind: string; test?: object } }) =>
        event.kind === "test" ? [event.test] : [],
      );
    expect((await attach("results.txt", RESULTS)).findings).toHaveLength(2);
    expect(await tests()).toMatchObject(RESULTS.tests);
    const again = await attach("again.json", RESULTS);
    expect([again.findings, again.notes]).toEqual([
      [],
      ["again.json was taken in before; its tests are not filed twice."],
    ]);
    expect((await attach("one.json", { name: "memory", result: "fail" })).findings).toHaveLength(1);
    expect((await attach("list.json", [{ name: "fans", result: "done" }])).findings).toHaveLength(1);
    expect(await tests()).toHaveLength(4);

    const notes: string[] = [];
    const damaged = {
      "word.json": { tests: [RESULTS.tests[0], { name: "memory", result: "passed" }] },
      "key.json": { name: "load", result: "pass", minuts: 4 },
      "cut.json": JSON.stringify(RESULTS).slice(0, 60),
    };
    for (const [name, content] of Object.entries(damaged)) {
      const { sha256, findings, notes: said } = await attach(name, content);
      expect([sha256.length, findings]).toEqual([64, []]);
      notes.push(...said);
    }
    const none = "is stored, but none of its tests was filed:";
    expect(notes[0]).toBe(`word.json ${none} tests[1].result is "passed"; it should be one of "pass", "fail", "done"`);
    expect(notes[1]).toBe(`key.json ${none} minuts is not a field here; did you mean "minutes"?`);
    expect(notes[2]).toMatch(/^cut\.json .* in line 1; it should be one complete JSON document$/);
    expect(await tests()).toHaveLength(4);
    expect((await attach("other.json", { name: "a program", version: 3 })).notes).toEqual([]);
    await expect(attach("other.json", { name: "a program" }, "--as", "tests")).rejects.toThrow(/as test results/);
    expect((await attach("plain.json", RESULTS, "--as", "plain")).findings).toEqual([]);
  }));

test("an entry is corrected by words or taken back, and both are kept; what cannot be is refused and changes nothing", () =>
  withFolder(async (dir) => {
    const { job: id } = await json(dir, "new", "--title", "K3");
    const { seq: note } = await json(dir, "note", id, "fans", "turn");
    await job(dir, "test", id, "load", "fail");
    const because = ["--because", "mistyped"];
    const now = async () =>
      (await json(dir, "show", id)).log.map(({ event }: { event: { kind: string; text?: string } }) => event);
    expect(await json(dir, "correct", id, String(note), "no", "fan", "turns", ...because)).toMatchObject({
      corrects: note,
      now: { kind: "note", text: "no fan turns" },
    });
    expect(await json(dir, "correct", id, String(note + 1), "pass", ...because)).toMatchObject({
      now: { test: { name: "load", result: "pass" } },
    });
    expect((await now()).filter((each: { kind: string }) => each.kind === "correction")).toHaveLength(2);
    expect((await now())[note - 1]).toEqual({ kind: "note", text: "fans turn" });
    const before = await now();
    const refusals: [string[], RegExp][] = [
      [["99", "x", ...because], /no entry 99/],
      [[String(note), ...because], /say what it should say/],
      [[String(note), "x", "--because", " "], /say why/],
      [[String(note), "--take-back", ...because], /only an answer is taken back/],
      [[String(note + 1), "perhaps", ...because], /pass, fail or done/],
      [["4", "x", ...because], /not corrected by words/],
    ];
    for (const [words, why] of refusals) await expect(job(dir, "correct", id, ...words)).rejects.toThrow(why);
    expect(await now()).toEqual(before);
  }));

test("a look that a page sends is judged too, and its tests are filed", () =>
  withStore(async (store) => {
    const id = await store.newJob({ title: "K2" });
    const desk = jobsForPage({
      store,
      reads: recordReads(store),
      board: () => null,
      boardFile: () => null,
      onChange: () => undefined,
      onRepair: () => undefined,
    });
    const card = sampleDevice("0000:01:00.0", { driver: null });
    const bytes = Buffer.from(look(true, "2026-11-29T10:00:00.000Z", card));
    const looked = await desk.attach(id, bytes, { name: "look.json" });
    expect(looked?.found).toMatch(/^what the host reports does not decide/);
    const plain = await desk.attach(id, Buffer.from("plain words"), { name: "note.txt" });
    expect(plain).toEqual({ filed: true, found: null, notes: [] });
    const kinds = (await store.events(id)).map((each) => each.event.kind);
    expect(kinds).toEqual(["opened", "attachment", "host-look", "attachment"]);
    const event = FileBody.parse({
      id: "0192aa11-0000-7000-8000-000000000001",
      event: { kind: "test", test: { name: "memory", result: "pass" } },
    });
    expect(await desk.file(id, event.event, event.id)).toBe(true);
    expect((await store.events(id)).at(-1)?.event).toMatchObject({ kind: "test", test: { name: "memory" } });
  }));

test("a trace is judged by the board file that is given, and two dumps of one board are held against each other", () =>
  withFolder(async (dir) => {
    const { job: id } = await json(dir, "new");
    const board = file(
      dir,
      "board.json",
      JSON.stringify({
        version: 1,
        name: "K2",
        feeds: { aux: { nominalVolts: 12 } },
        rails: { core: { volts: 0.85, needs: ["feed:aux"] } },
      }),
    );
    const rows = Array.from({ length: 200 }, (_, i) => `${i / 1000},${i < 50 ? 0 : Math.min(0.85, (i - 50) * 0.1)}`);
    const trace = file(dir, "scope.csv", `time_s,CH1\n${rows.join("\n")}\n`);
    const { attached } = await json(dir, "attach", id, trace, "--as", "trace", "--board", board, "--name", "CH1=core");
    expect(attached[0].finding).toMatchObject({ kind: "start-order", result: { order: ["core"], problems: [] } });
    await expect(job(dir, "attach", id, trace, "--as", "trace")).rejects.toThrow(/give --board/);
    const dump = new Uint8Array(8192).fill(0x5a);
    const first = await json(dir, "attach", id, file(dir, "one.bin", dump), "--as", "firmware");
    expect(first.attached[0].finding.verdict.word).toBe("no-image");
    dump[4000] = 0;
    const second = await json(dir, "attach", id, file(dir, "two.bin", dump), "--as", "firmware");
    expect(second.attached[0].finding.verdict).toMatchObject({
      word: "reads-differ",
      regions: [{ offset: 4000, bytes: 1 }],
    });
    const blank = await json(
      dir,
      "attach",
      id,
      file(dir, "blank.bin", new Uint8Array(8192).fill(0xff)),
      "--as",
      "firmware",
    );
    expect(blank.attached[0].finding.image.blank).toBe("ff");
  }));

test.each([
  [["host-boots"], /a name and a result/],
  [["host-boots", "7/5"], /a count such as 5\/5/],
  [["memory", "perhaps"], /pass, fail, done/],
  [["x".repeat(100), "pass"], /name/],
])("a test in words that say nothing is refused: %j", (words, message) =>
  withFolder(async (dir) => {
    const { job: id } = await json(dir, "new");
    await expect(job(dir, "test", id, ...words)).rejects.toThrow(message);
    expect((await json(dir, "show", id)).log).toHaveLength(1);
  }),
);
