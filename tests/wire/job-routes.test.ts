import { createHash, randomUUID } from "node:crypto";
import { expect, test } from "vitest";
import { BoardFile } from "../../shared/files/board-file.ts";
import {
  JobDiagnosis,
  WireCapturePoints,
  WireComparison,
  WireFoundJobs,
  WireJobSheet,
  WireStoredRun,
} from "../../shared/wire-job.ts";
import { jobsForPage } from "../../src/daemon/page/jobs-for-page.ts";
import { recordReads } from "../../src/daemon/reads/record-reads.ts";
import type { JobStore } from "../../src/job/store/job-store.ts";
import { sampleDevice, sampleLook } from "../host/sample-look.ts";
import { fileRun, sampleVerdict, withStore } from "../job/sample-job.ts";
import { type Reply, TOKEN, WireRig } from "./wire-rig.ts";

const BOARD = BoardFile.parse({
  version: 1,
  name: "Kestrel K2",
  feeds: { aux: { nominalVolts: 12 } },
  rails: { core: { volts: 0.85, coldOhms: [0.1, 5], needs: ["feed:aux"] } },
});

interface Desk {
  rig: WireRig;
  store: JobStore;
  changed: string[];
  get(path: string): Promise<Reply>;
  post(path: string, body: unknown): Promise<Reply>;
}

/** A wire over a real record, asked by a script with the token. */
const withDesk = (work: (desk: Desk) => Promise<void>): Promise<void> =>
  withStore(async (store) => {
    const changed: string[] = [];
    const desk = jobsForPage({
      store,
      reads: recordReads(store),
      board: () => "Kestrel K2",
      boardFile: () => BOARD,
      onChange: (job) => changed.push(job),
      onRepair: () => {},
    });
    const rig = await WireRig.open({ jobsForPage: desk });
    const headers = { authorization: `Bearer ${TOKEN}` };
    const get = (path: string) => rig.ask(path, { headers });
    const post = (path: string, body: unknown) => rig.ask(path, { method: "POST", headers, body });
    try {
      await work({ rig, store, changed, get, post });
    } finally {
      await rig.close();
    }
  });
const sheet = (reply: Reply): WireJobSheet => WireJobSheet.parse(JSON.parse(reply.text));

test("a job is opened, written to and read over the wire, each event once, and its readers are told", () =>
  withDesk(async ({ get, post, changed }) => {
    const { job } = JSON.parse((await post("/api/jobs", { title: "no picture" })).text) as { job: string };
    const note = { id: randomUUID(), event: { kind: "note", text: "smells burnt at Q12" } };
    for (let each = 0; each < 2; each++) expect((await post(`/api/jobs/${job}/events`, note)).status).toBe(200);
    const cold = { kind: "cold-readings", ohms: { aux: 12_400, "aux:core": "open" }, by: "hand", boardCelsius: null };
    await post(`/api/jobs/${job}/events`, { id: randomUUID(), event: cold });
    const right = { kind: "correction", of: note.id, because: "misread", event: { kind: "note", text: "at Q21" } };
    await post(`/api/jobs/${job}/events`, { id: randomUUID(), event: right });
    const read = sheet(await get(`/api/jobs/${job}/sheet`));
    expect(read).toMatchObject({ title: "no picture", board: "Kestrel K2", runs: [] });
    expect(read.cold).toMatchObject({ aux: { ohms: 12_400 }, "aux:core": { ohms: "open" } });
    expect(read.events.map((each) => [each.kind, each.correctable])).toEqual([
      ["opened", true],
      ["note", true],
      ["cold-readings", true],
      ["correction", false],
    ]);
    expect(read.events[1]?.text).toBe("smells burnt at Q12");
    expect(changed).toEqual([job, job, job, job, job]);
  }));

test("the sheet has the last cold reading of each point, also of those that were filed apart", () =>
  withDesk(async ({ get, store }) => {
    const job = await store.newJob();
    const cold = (ohms: Record<string, number>) =>
      store.appendEvent(job, { kind: "cold-readings", ohms, by: "hand", boardCelsius: null });
    await cold({ aux: 12_400, core: 0.3 });
    await cold({ "aux:core": 3100 });
    await cold({ "core:aux": 2900 });
    const { cold: filed } = sheet(await get(`/api/jobs/${job}/sheet`));
    expect(Object.entries(filed).map(([point, { ohms }]) => [point, ohms])).toEqual([
      ["aux", 12_400],
      ["core", 0.3],
      ["aux:core", 2900],
    ]);
    await store.appendEvent(job, { kind: "repair", text: "the capacitor at the input", parts: [] });
    expect(sheet(await get(`/api/jobs/${job}/sheet`)).cold["aux"]?.expired).toBe("a repair was done after it");
  }));

test("bytes are kept with a job under their hash, and named in its sheet", () =>
  withDesk(async ({ get, post, store }) => {
    const job = await store.newJob();
    const photograph = Buffer.from("89504e470d0a1a0a0000000d49484452", "hex");
    const path = `/api/jobs/${job}/attachments?name=${encodeURIComponent("front.png")}&caption=as%20it%20came`;
    expect((await post(path, photograph)).status).toBe(200);
    expect(sheet(await get(`/api/jobs/${job}/sheet`)).events.at(-1)?.file).toEqual({
      sha256: createHash("sha256").update(photograph).digest("hex"),
      name: "front.png",
      mediaType: "image/png",
      bytes: photograph.length,
      caption: "as it came",
    });
    expect((await post(path, Buffer.alloc(20 * 1024 * 1024 + 1))).status).toBe(413);
    expect((await store.events(job)).length).toBe(2);
  }));

test("a host's look comes with its port and is judged by the daemon's own board; what it shows is answered", () =>
  withDesk(async ({ post, store }) => {
    const job = await store.newJob();
    const device = {
      address: "0000:00:01.0",
      vendor: "8086",
      device: "1901",
      class: "060400",
      subsystemVendor: null,
      subsystemDevice: null,
      driver: null,
      link: { speedGt: null, width: 0, maxSpeedGt: null, maxWidth: null },
      aer: { correctable: null, nonfatal: null, fatal: null },
      port: { secondaryBus: 1, presence: "present", linkActive: false },
    };
    const look = {
      format: "firstamp-host-look",
      version: 1,
      lookedAt: null,
      source: "sysfs",
      kernel: null,
      rescanned: false,
      notes: [],
      devices: [device],
    };
    const path = `/api/jobs/${job}/attachments?name=look.json&port=0000:00:01.0&clockAhead=2`;
    const answer = JSON.parse((await post(path, Buffer.from(JSON.stringify(look)))).text);
    expect(answer).toMatchObject({
      filed: true,
      found: expect.stringMatching(/^not listed by the host: it has no link \(1 device\)/),
    });
    const filed = (await store.events(job)).map((each) => each.event).find((each) => each.kind === "host-look");
    expect(filed).toMatchObject({
      port: "0000:00:01.0",
      of: "board",
      clockAheadMs: 2000,
      verdict: { word: "no-link" },
    });
    // A trace of a start needs a board file: no run of this job names one, and the daemon's own has it.
    const trace = `time_s,core\n${Array.from({ length: 200 }, (_, i) => `${i / 1000},${i < 50 ? 0 : 0.85}`).join("\n")}\n`;
    const start = JSON.parse((await post(`/api/jobs/${job}/attachments?name=start.csv`, Buffer.from(trace))).text);
    expect(start.found).toMatch(/^start: core/);
    expect((await post(`/api/jobs/${job}/attachments?name=x&port=slot`, Buffer.from("{}"))).status).toBe(400);
  }));

test("a run comes back with its verdict and its trace; two are compared; the report is one page", () =>
  withDesk(async ({ get, post, store }) => {
    const job = await store.newJob({ board: "Kestrel K2" });
    const first = await fileRun(store, job);
    const last = await fileRun(store, job, { verdict: sampleVerdict({ plateauAmps: 0.9 }) });
    const [run] = sheet(await get(`/api/jobs/${job}/sheet`)).runs;
    expect(run).toMatchObject({ run: first.run, verdict: sampleVerdict(), outcome: { output: "off" } });
    const drawn = WireStoredRun.parse(JSON.parse((await get(`/api/jobs/${job}/runs/${first.run}`)).text));
    expect(drawn.trace[0]?.readings.map((each) => each.amps)).toEqual(
      [0, 2, 0.82, 0.82].map((amps) => ({ kind: "value", amps })),
    );
    const compared = WireComparison.parse(JSON.parse((await get(`/api/compare?a=${job}&b=${job}`)).text));
    expect([compared.a.run, compared.b.run]).toEqual([first.run, last.run]);
    const report = JSON.parse((await post(`/api/jobs/${job}/report`, {})).text) as { name: string; html: string };
    expect(report.name).toBe(`report-${job.slice(-8)}.html`);
    expect(report.html).toContain("Kestrel K2");
    expect((await store.events(job)).at(-1)?.event.kind).toBe("report-made");
  }));

test("where the host lost the board during a run, by the host's own clock, stands with that run", () =>
  withDesk(async ({ get, post, store }) => {
    const job = await store.newJob();
    const { run, startedAt } = await fileRun(store, job);
    const at = (ms: number): string => new Date(Date.parse(startedAt) + ms).toISOString();
    const device = sampleDevice("0000:01:00.0");
    const look = sampleLook(at(0), [device]);
    // Two seconds ahead: what it calls the fifth second is the third of the run.
    const gone = { event: "change", at: at(5000), address: device.address, what: "gone", from: null, to: null };
    const watch = `${JSON.stringify(look)}\n${JSON.stringify(gone)}\n`;
    await post(`/api/jobs/${job}/attachments?name=watch.jsonl&port=0000:01:00.0&clockAhead=2`, Buffer.from(watch));
    const shown = sheet(await get(`/api/jobs/${job}/sheet`));
    expect(shown.runs.find((each) => each.run === run)?.hostSaw).toEqual([{ atMs: 3000, text: "0000:01:00.0 gone" }]);
  }));

test("a run's readings come as the table that classify reads, a job as the file that another record imports, a note with its moment", () =>
  withDesk(async ({ get, post, store }) => {
    const job = await store.newJob();
    const { run } = await fileRun(store, job, { amps: [0, 2, 0.5] });
    const table = await get(`/api/jobs/${job}/runs/${run}/csv`);
    expect(table.text.split("\r\n").map((line) => line.split(",").slice(0, 4).join())).toEqual([
      "time_s,volts,amps,feed",
      "0,12,0,aux",
      "0.01,12,2,aux",
      "0.02,12,0.5,aux",
      "",
    ]);
    expect((await get(`/api/jobs/${job}/runs/${randomUUID()}/csv`)).status).toBe(404);
    const archive = await get(`/api/jobs/${job}/archive`);
    // APPNOTE.TXT 6.3.10, 4.3.7: the signature of a local file header.
    expect([archive.status, archive.text.slice(0, 4)]).toEqual([200, "PK\u0003\u0004"]);
    const note = { kind: "note", text: "fan twitches", of: { run, atMs: 1_500 } };
    await post(`/api/jobs/${job}/events`, { id: randomUUID(), event: note });
    expect(sheet(await get(`/api/jobs/${job}/sheet`)).events.at(-1)).toMatchObject({
      of: { run, atMs: 1_500, text: "fan twitches" },
      text: "at 1.500 s of a run: fan twitches",
    });
  }));

test("what is filed with a job is weighed, and anew with each answer", () =>
  withDesk(async ({ get, post, store }) => {
    const job = await store.newJob();
    const diagnosis = async () => JobDiagnosis.parse(JSON.parse((await get(`/api/jobs/${job}/diagnosis`)).text));
    const before = await diagnosis();
    const cold = { kind: "cold-readings", ohms: { core: 0.01 }, by: "hand", boardCelsius: null };
    await post(`/api/jobs/${job}/events`, { id: randomUUID(), event: cold });
    const after = await diagnosis();
    expect(after.readings.coldOhms).toEqual({ core: 0.01 });
    // A core of 0.1 to 5 Ω that reads 0.01 Ω is shorted (trade practice, no source).
    expect(after.diagnosis.faults[0]).toMatchObject({ element: "core" });
    expect(after.diagnosis.shortProbability).toBeGreaterThan(before.diagnosis.shortProbability);
    const answer = { kind: "answer", to: "host", answer: "none" };
    await post(`/api/jobs/${job}/events`, { id: randomUUID(), event: answer });
    expect((await diagnosis()).readings.host).toBe("none");
    expect((await get(`/api/jobs/${randomUUID()}/diagnosis`)).status).toBe(404);
  }));

test("jobs are found by their words and by where they stand, and a job's last photograph comes with it", () =>
  withDesk(async ({ get, post, store }) => {
    const one = await store.newJob({ title: "no picture, fan spins" });
    const other = await store.newJob({ title: "smells burnt" });
    const stage = { kind: "stage", stage: "waiting-for-parts", text: null };
    await post(`/api/jobs/${other}/events`, { id: randomUUID(), event: stage });
    const found = async (query: string): Promise<string[]> => {
      const { jobs } = WireFoundJobs.parse(JSON.parse((await get(`/api/find-jobs${query}`)).text));
      return jobs.map((each) => `${each.id} ${each.stage ?? ""}`);
    };
    expect(await found("")).toEqual([`${other} waiting-for-parts`, `${one} `]);
    expect(await found("?words=fan%20pict")).toEqual([`${one} `]);
    expect(await found("?stage=waiting-for-parts")).toEqual([`${other} waiting-for-parts`]);
    expect((await get("/api/find-jobs?stage=lost")).status).toBe(400);
    expect((await get(`/api/jobs/${one}/picture`)).status).toBe(204);
    // PNG, third edition (W3C), 5.2: the signature.
    const png = Buffer.concat([Buffer.from([137, 80, 78, 71, 13, 10, 26, 10]), Buffer.alloc(20)]);
    await store.attachBytes(one, png, { name: "front.png" });
    expect((await get(`/api/jobs/${one}/picture`)).status).toBe(200);
  }));

test("a window of a capture comes thinned to points, each with the least, the greatest and the mean of its readings", () =>
  withDesk(async ({ get, store }) => {
    const job = await store.newJob();
    // Ten milliseconds apart, from 0.
    const { capture } = await fileRun(store, job, { amps: [0, 2, 0.5, 1.5, 9] });
    const path = `/api/jobs/${job}/captures/${capture}/points`;
    const whole = WireCapturePoints.parse(JSON.parse((await get(`${path}?from=0&to=30&most=2`)).text));
    expect(whole).toEqual({
      capture,
      beginsMs: 0,
      endsMs: 40,
      feeds: [
        {
          feed: "aux",
          atMs: [0, 20],
          untilMs: [10, 30],
          count: [2, 2],
          volts: { least: [12, 12], most: [12, 12], mean: [12, 12] },
          amps: { least: [0, 0.5], most: [2, 1.5], mean: [1, 1] },
        },
      ],
    });
    const all = WireCapturePoints.parse(JSON.parse((await get(path)).text));
    expect(all.feeds[0]?.count).toEqual([1, 1, 1, 1, 1]);
    expect(all.feeds[0]?.amps.mean).toEqual([0, 2, 0.5, 1.5, 9]);
    expect((await get(`${path}?from=30&to=0`)).status).toBe(400);
    expect((await get(`${path}?most=4001`)).status).toBe(400);
    const other = await store.newJob();
    expect((await get(`/api/jobs/${other}/captures/${capture}/points`)).status).toBe(404);
  }));

test("what is not there, not a person's to file, or not understood is refused in a sentence and files nothing", () =>
  withDesk(async ({ get, post, store, changed }) => {
    const job = await store.newJob();
    const event = (body: unknown) => post(`/api/jobs/${job}/events`, body);
    expect((await get(`/api/jobs/${randomUUID()}/sheet`)).status).toBe(404);
    expect((await get(`/api/jobs/${job}/runs/${randomUUID()}`)).status).toBe(404);
    expect((await get("/api/jobs/..%2f..%2fetc/sheet")).status).toBe(404);
    expect((await get(`/api/compare?a=${job}&b=${job}`)).text).toContain("no run with a verdict");
    const filed = { kind: "incident", text: "x", instrument: null, run: null, output: "off" };
    expect((await event({ id: randomUUID(), event: filed })).text).toContain("cannot be filed by a person");
    const metered = { kind: "cold-readings", ohms: {}, by: "meter", boardCelsius: null };
    expect((await event({ id: randomUUID(), event: metered })).text).toContain("read from a meter");
    expect((await event({ id: "1", event: { kind: "note", text: "x" } })).status).toBe(400);
    expect((await event({ id: randomUUID(), event: { kind: "note", text: "x", extra: 1 } })).status).toBe(400);
    expect(
      (await post(`/api/jobs/${randomUUID()}/events`, { id: randomUUID(), event: { kind: "note", text: "x" } })).status,
    ).toBe(404);
    expect([(await store.events(job)).length, changed]).toEqual([1, []]);
  }));

test("a viewer reads and writes nothing; a stranger and a foreign page do neither", () =>
  withDesk(async ({ rig, store }) => {
    const job = await store.newJob();
    const viewer = await rig.session(rig.wire.newUrl("viewer"));
    const note = { id: randomUUID(), event: { kind: "note", text: "x" } };
    const ask = async (method: string, path: string, headers: Record<string, string>, body?: unknown) =>
      (await rig.ask(path, { method, headers, body })).status;
    const paths = [
      "/api/jobs",
      `/api/jobs/${job}/events`,
      `/api/jobs/${job}/report`,
      `/api/jobs/${job}/attachments?name=x`,
    ];
    for (const path of paths) {
      expect(await ask("POST", path, { ...viewer, origin: rig.origin }, note), path).toBe(403);
      expect(await ask("POST", path, { origin: rig.origin }, note), path).toBe(401);
      expect(await ask("POST", path, { ...(await rig.session()), origin: "https://evil.example" }, note), path).toBe(
        403,
      );
    }
    expect(await ask("GET", `/api/jobs/${job}/sheet`, viewer)).toBe(200);
    expect(await ask("GET", `/api/jobs/${job}/sheet`, {})).toBe(401);
    expect((await store.events(job)).length).toBe(1);
    expect(await ask("POST", `/api/jobs/${job}/events`, { ...(await rig.session()), origin: rig.origin }, note)).toBe(
      200,
    );
  }));
