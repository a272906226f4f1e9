import { existsSync, readdirSync, readFileSync, rmSync, statSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "vitest";
import { captureFile } from "../../src/capture/capture-files.ts";
import { databasePath } from "../../src/job/database/database-path.ts";
import { backUpRecord } from "../../src/job/restore/back-up-record.ts";
import { restoreRecord } from "../../src/job/restore/restore-record.ts";
import { writeTables } from "../../src/job/restore/write-tables.ts";
import { attachmentPath } from "../../src/job/store/attachment-store.ts";
import { checkRecord } from "../../src/job/store/check-record.ts";
import type { JobStore } from "../../src/job/store/job-store.ts";
import { openJobStore } from "../../src/job/store/open-job-store.ts";
import { fileRun, withFolder } from "./sample-job.ts";

const PAGE_BYTES = 4096;
const open = (dir: string) => openJobStore(dir, { ballastBytes: 0 });

/** Everything that is filed, by id. */
async function eventsIn(store: JobStore): Promise<Map<string, unknown>> {
  const all = new Map<string, unknown>();
  for (const { job } of await store.list()) {
    for (const { seq: _, ...event } of await store.events(job)) all.set(event.id, { job, ...event });
  }
  return all;
}

interface Practice {
  dir: string;
  copy: string;
  /** What was filed until the copy, and in all. */
  copied: Map<string, unknown>;
  all: Map<string, unknown>;
  capture: string;
  sha256: string;
}

/** A record with a copy, and with events that came after it. */
async function practise(folder: string): Promise<Practice> {
  const dir = join(folder, "data");
  const store = await open(dir);
  const photo = join(folder, "photo.png");
  writeFileSync(photo, Buffer.from("89504e470d0a1a0a0000000d49484452", "hex"));
  const job = await store.newJob({ title: "before the copy", board: "Kestrel K2" });
  const { capture } = await fileRun(store, job);
  const { event } = await store.attach(job, photo);
  for (let each = 0; each < 40; each++)
    await store.appendEvent(job, { kind: "note", text: `before ${each} `.repeat(40) });
  const copy = join(folder, "copy");
  await backUpRecord(store, copy);
  const copied = await eventsIn(store);
  const later = await store.newJob({ title: "after the copy" });
  for (let each = 0; each < 40; each++)
    await store.appendEvent(later, { kind: "note", text: `after ${each} `.repeat(40) });
  const all = await eventsIn(store);
  await store.close();
  const sha256 = event.kind === "attachment" ? event.sha256 : "";
  return { dir, copy, copied, all, capture, sha256 };
}

test(
  "a copy is put back with all that was filed after it, wherever one page of the database is damaged",
  {
    timeout: 300_000,
  },
  () =>
    withFolder(async (folder) => {
      const { dir, copy, copied, all } = await practise(folder);
      const whole = readFileSync(databasePath(dir));
      const pages = whole.length / PAGE_BYTES;
      let salvagedAll = 0;
      let tried = 0;
      for (let page = 0; page < pages; page += 3) {
        tried++;
        const damaged = Buffer.from(whole);
        damaged.fill(0xff, page * PAGE_BYTES, (page + 1) * PAGE_BYTES);
        writeFileSync(databasePath(dir), damaged);
        for (const beside of ["-wal", "-shm"]) rmSync(`${databasePath(dir)}${beside}`, { force: true });
        const done = await restoreRecord(dir, copy);
        // What was there is kept as it was.
        expect(readFileSync(join(done.aside, "firstamp.db")).equals(damaged)).toBe(true);
        const store = await open(dir);
        const now = await eventsIn(store);
        for (const [id, event] of copied) expect(now.get(id)).toEqual(event);
        for (const [id, event] of now) expect(event).toEqual(all.get(id));
        expect(now.size).toBe(copied.size + done.salvaged);
        expect((await checkRecord(store)).problems).toEqual([]);
        const { origin } = store.set;
        expect(await store.set.ownOrigins()).toEqual([origin]);
        expect(await store.set.top(origin)).toBe(now.size);
        if (now.size === all.size) salvagedAll++;
        await store.close();
      }
      expect(tried).toBeGreaterThan(10);
      // Most pages hold a few rows, or none that a record cannot be made again without.
      expect(salvagedAll).toBeGreaterThan(tried / 3);
    }),
);

test("a database that is gone, or none at all, is put back from the copy; its files too, and what was damaged is kept aside", () =>
  withFolder(async (folder) => {
    const { dir, copy, copied, capture, sha256 } = await practise(folder);
    writeFileSync(databasePath(dir), "no database");
    writeFileSync(captureFile(join(dir, "captures"), capture), "torn");
    rmSync(attachmentPath(dir, sha256));
    const done = await restoreRecord(dir, copy);
    expect(done).toMatchObject({ fromCopy: copied.size, salvaged: 0, troubles: [] });
    expect(done.files.sort()).toEqual([
      join("attachments", sha256.slice(0, 2), sha256),
      join("captures", `${capture}.chunks`),
    ]);
    expect(readFileSync(join(done.aside, "captures", `${capture}.chunks`), "utf8")).toBe("torn");
    const store = await open(dir);
    expect(await eventsIn(store)).toEqual(copied);
    expect((await checkRecord(store)).problems).toEqual([]);
    await store.close();
    const empty = join(folder, "empty");
    await restoreRecord(empty, join(copy, "firstamp.db"));
    const again = await open(empty);
    expect(await eventsIn(again)).toEqual(copied);
    await again.close();
    expect(readdirSync(dir).filter((name) => name.startsWith("restoring-"))).toEqual([]);
  }));

test("a copy that is none, damaged, or the record itself is refused, and so is a record in use; nothing is changed", () =>
  withFolder(async (folder) => {
    const { dir, copy } = await practise(folder);
    const before = readFileSync(databasePath(dir));
    const bad = join(folder, "bad.db");
    const bytes = readFileSync(join(copy, "firstamp.db"));
    bytes.fill(0xff, PAGE_BYTES * 3, PAGE_BYTES * 4);
    writeFileSync(bad, bytes);
    const text = join(folder, "text");
    writeFileSync(text, "hello");
    const refusals: [string, RegExp][] = [
      [join(folder, "none"), /does not exist/],
      [folder, /holds no firstamp.db/],
      [databasePath(dir), /the present record/],
      [dir, /the present record/],
      [bad, /damaged/],
      [text, /damaged/],
    ];
    for (const [path, why] of refusals) {
      await expect(restoreRecord(dir, path)).rejects.toMatchObject({
        code: "bad-input",
        message: expect.stringMatching(why),
      });
    }
    const owner = await open(dir);
    await expect(restoreRecord(dir, copy)).rejects.toMatchObject({ code: "data-in-use" });
    await owner.close();
    expect(readFileSync(databasePath(dir)).equals(before)).toBe(true);
    expect(readdirSync(dir).some((name) => name.startsWith("put-aside-"))).toBe(false);
  }));

test("a copy is a folder that is whole or not there, and never overwrites", () =>
  withFolder(async (folder) => {
    const { dir, copy, capture } = await practise(folder);
    expect(statSync(captureFile(join(copy, "captures"), capture)).size).toBe(
      statSync(captureFile(join(dir, "captures"), capture)).size,
    );
    const store = await open(dir);
    await expect(backUpRecord(store, copy)).rejects.toThrow(/exists already/);
    await store.close();
  }));

/** Rows of a CSV whose cells are all quoted (RFC 4180). */
function rowsOf(text: string): string[][] {
  return text
    .split(/\r\n(?=")|\r\n$/)
    .filter((line) => line !== "")
    .map((line) => [...line.matchAll(/"((?:[^"]|"")*)"/g)].map((cell) => (cell[1] ?? "").replaceAll('""', '"')));
}

test("every table comes out as CSV, each row once, and no cell is a formula", () =>
  withFolder(async (folder) => {
    const { dir, all } = await practise(folder);
    const out = join(folder, "tables");
    const tables = await writeTables(dir, out);
    const read = (table: string) => rowsOf(readFileSync(join(out, `${table}.csv`), "utf8"));
    const [head, ...events] = read("job_event");
    expect(head).toEqual(["id", "job", "stamp", "recorded_at", "kind", "body"]);
    expect(events.map(([id]) => id).sort()).toEqual([...all.keys()].sort());
    for (const [, , , , kind, body] of events) expect(JSON.parse(body ?? "")).toMatchObject({ kind });
    for (const { table, rows } of tables) expect(read(table)).toHaveLength(rows + 1);
    // No table of the database is left out but SQLite's and Kysely's own, and the index of words.
    const { openDatabase } = await import("../../src/job/database/sqlite-engine.ts");
    const database = openDatabase(databasePath(dir), { readOnly: true });
    const names = database.prepare("select name from sqlite_schema where type = 'table'").all() as { name: string }[];
    database.close();
    expect(tables.map(({ table }) => table).sort()).toEqual(
      names
        .map(({ name }) => name)
        .filter((name) => !/^(sqlite_|kysely_|job_word)/.test(name))
        .sort(),
    );
    await expect(writeTables(dir, out)).rejects.toThrow(/exists already/);
    expect(existsSync(`${out}.making-${process.pid}`)).toBe(false);
  }));
