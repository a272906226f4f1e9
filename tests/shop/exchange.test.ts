import { cpSync, mkdtempSync, readFileSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import path from "node:path";
import fc from "fast-check";
import { afterAll, afterEach, beforeAll, expect, test } from "vitest";
import { captureFile } from "../../src/capture/capture-files.ts";
import { filedCold } from "../../src/job/known/filed-cold.ts";
import { attachmentPath } from "../../src/job/store/attachment-store.ts";
import { fileRun } from "../job/sample-job.ts";
import { type PostgresServer, postgresServer } from "./postgres-server.ts";
import { contentOf, settle, type TestBench, testBench } from "./shop-rig.ts";

let server: PostgresServer;
const open: TestBench[] = [];

beforeAll(async () => {
  server = await postgresServer();
});
afterEach(async () => {
  for (const each of open.splice(0)) await each.close();
});
afterAll(() => server.close());

async function bench(...given: Parameters<typeof testBench>): Promise<TestBench> {
  const made = await testBench(...given);
  open.push(made);
  return made;
}

const note = (text: string) => ({ kind: "note", text }) as const;
const DAY_MS = 86_400_000;

test("what one bench filed is on the other with its readings and files, and its list names the bench", async () => {
  const url = await server.newDatabase();
  const [north, south] = [await bench("north", url), await bench("south", url)];
  const job = await north.store.newJob({ title: "Mrs. Tern's K2", board: "Kestrel K2" });
  const header = await fileRun(north.store, job, { amps: Array.from({ length: 4000 }, (_, index) => index / 1000) });
  const photo = path.join(north.dir, "photo.png");
  writeFileSync(photo, Buffer.concat([Buffer.from("89504e470d0a1a0a", "hex"), Buffer.alloc(700_000, 7)]));
  const { event } = await north.store.attach(job, photo);
  await settle([north, south]);

  expect(await contentOf(south.store)).toEqual(await contentOf(north.store));
  expect((await south.store.list())[0]).toMatchObject({ bench: "north", title: "Mrs. Tern's K2", runs: 1 });
  expect((await south.store.search({ words: "tern kestrel", most: 5 })).jobs.map((each) => each.job)).toEqual([job]);
  const readings = (store: TestBench["store"]) => readFileSync(captureFile(store.captureDir, header.capture));
  expect(readings(south.store).equals(readings(north.store))).toBe(true);
  const sha256 = event.kind === "attachment" ? event.sha256 : "";
  expect(readFileSync(attachmentPath(south.dir, sha256)).equals(readFileSync(photo))).toBe(true);
  expect(await north.store.set.waiting()).toEqual({ events: 0, files: 0, since: null });
  // South has filed nothing, and the database files nothing itself.
  expect((await south.database.benches()).map(({ origin, events }) => [origin, events])).toEqual([
    [north.store.set.origin, 4 + 1],
  ]);
});

test("a bench says how much waits and since when while the database is away, and sends it when it is back", async () => {
  const url = await server.newDatabase();
  const north = await bench("north", url, { nowMs: () => Date.UTC(2026, 10, 25, 8) });
  await north.exchange();
  const job = await north.store.newJob({ title: "while it is away" });
  await server.stop("kill");
  await expect(north.exchange()).rejects.toThrow();
  await north.store.appendEvent(job, note("one more"));
  expect(await north.store.set.waiting()).toMatchObject({ events: 2, since: "2026-11-25T08:00:00.000Z" });
  await server.start();
  await north.exchange();
  expect(await north.store.set.waiting()).toEqual({ events: 0, files: 0, since: null });
});

test("one job written on two benches while apart has both their events, in one order, on both", async () => {
  const url = await server.newDatabase();
  const [north, south] = [await bench("north", url), await bench("south", url)];
  const job = await north.store.newJob({ title: "shared" });
  await settle([north, south]);
  for (let index = 0; index < 5; index++) {
    await north.store.appendEvent(job, note(`north ${index}`));
    await south.store.appendEvent(job, note(`south ${index}`));
  }
  await settle([north, south]);
  const events = await north.store.events(job);
  expect(await south.store.events(job)).toEqual(events);
  expect(events.map(({ seq }) => seq)).toEqual(Array.from({ length: 11 }, (_, index) => index + 1));
  const texts = events.flatMap(({ event }) => (event.kind === "note" ? [event.text] : []));
  for (const name of ["north", "south"])
    expect(texts.filter((each) => each.startsWith(name))).toEqual(Array.from({ length: 5 }, (_, i) => `${name} ${i}`));
});

test("a cold reading that another bench took is shown with its bench and counts for nothing here", async () => {
  const url = await server.newDatabase();
  const [north, south] = [await bench("north", url), await bench("south", url)];
  const job = await north.store.newJob({});
  await north.store.appendEvent(job, { kind: "cold-readings", ohms: { aux: 12_400 }, by: "hand", boardCelsius: null });
  await settle([north, south]);
  const coldOn = async ({ store }: TestBench) =>
    filedCold(await store.events(job), { nowMs: Date.now(), isOwn: store.set.isOwn })["aux"]?.expired;
  expect(await coldOn(north)).toBeNull();
  expect(await coldOn(south)).toBe("it was taken on another bench (north)");
});

test("five benches with clocks off by up to a day end with equal sets in one order", { timeout: 600_000 }, async () => {
  const names = ["north", "south", "east", "west", "attic"];
  const step = fc.record({ by: fc.nat({ max: 4 }), does: fc.constantFrom("file", "file", "exchange", "open") });
  const offsets = fc.array(fc.integer({ min: -DAY_MS, max: DAY_MS }), { minLength: 5, maxLength: 5 });
  await fc.assert(
    fc.asyncProperty(offsets, fc.array(step, { minLength: 5, maxLength: 30 }), async (off, steps) => {
      const url = await server.newDatabase();
      let nowMs = Date.UTC(2026, 10, 25);
      const benches: TestBench[] = [];
      for (const [index, name] of names.entries())
        benches.push(await bench(name, url, { nowMs: () => nowMs + (off[index] ?? 0) }));
      let filed = 0;
      for (const { by, does } of steps) {
        const each = benches[by];
        if (each === undefined) continue;
        nowMs += 1000;
        const [newest] = await each.store.list(1);
        if (does === "exchange") await each.exchange();
        else if (does === "open" || newest === undefined) {
          await each.store.newJob({ title: `job of ${each.name}` });
          filed++;
        } else {
          await each.store.appendEvent(newest.job, note(`${each.name} ${filed}`));
          filed++;
        }
      }
      await settle(benches);
      const contents = await Promise.all(benches.map((each) => contentOf(each.store)));
      for (const content of contents) expect(content).toEqual(contents[0]);
      expect(contents[0]?.reduce((sum, job) => sum + job.events.length, 0)).toBe(filed);
      for (const job of contents[0] ?? []) expect(job.events[0]?.kind).toBe("opened");
      for (const each of open.splice(0)) await each.close();
    }),
    { numRuns: 4 },
  );
});

test("a copied record that goes on as another bench, and one put back from yesterday, lose nothing and mix up nothing", async () => {
  const url = await server.newDatabase();
  const north = await bench("north", url);
  const job = await north.store.newJob({ title: "before the copy" });
  await north.exchange();
  await north.stop();
  const copy = mkdtempSync(path.join(tmpdir(), "firstamp-copy-"));
  cpSync(north.dir, copy, { recursive: true });
  await north.restart();
  // The copy goes by the same name at first, as a disk that was cloned does.
  const twin = await bench("north", url, { dir: copy });
  for (let index = 0; index < 3; index++) await north.store.appendEvent(job, note(`first ${index}`));
  for (let index = 0; index < 5; index++) await twin.store.appendEvent(job, note(`twin ${index}`));
  await north.exchange();
  await settle([twin, north]);
  await settle([twin, north]);
  expect(await contentOf(twin.store)).toEqual(await contentOf(north.store));
  expect(await north.store.events(job)).toHaveLength(1 + 3 + 5);
  await north.store.appendEvent(job, note("and on"));
  await settle([north, twin]);
  expect(await twin.store.events(job)).toHaveLength(10);
});
