import { existsSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "vitest";
import type { JobEvent } from "../../shared/record/job.ts";
import { databasePath } from "../../src/job/database/database-path.ts";
import { firstColumn, openDatabase } from "../../src/job/database/sqlite-engine.ts";
import { sqliteFileProblems } from "../../src/job/database/sqlite-file.ts";
import { openJobStore } from "../../src/job/store/open-job-store.ts";
import { shortId } from "../../src/job/store/uuid-v7.ts";
import { findingSuite } from "./finding-suite.ts";
import { recordSuite } from "./record-suite.ts";
import { sampleHeader, withFolder, withStore } from "./sample-job.ts";

const note = (text: string): JobEvent => ({ kind: "note", text });

recordSuite("SQLite", withStore);
findingSuite("SQLite", withStore);

test("no program can change or delete what was filed, also not by REPLACE", () =>
  withStore(async (store, dir) => {
    const job = await store.newJob();
    await store.appendEvent(job, note("as it was"));
    await store.close();
    const foreign = openDatabase(databasePath(dir));
    for (const change of [
      "update job_event set body = '{}'",
      "delete from job_event",
      "update job set created_at = ''",
      "delete from job",
    ]) {
      expect(() => foreign.exec(change), change).toThrow(/append-only|FOREIGN KEY/);
    }
    foreign.exec("pragma recursive_triggers = ON");
    expect(() =>
      foreign.exec("insert or replace into job_event select id, job, stamp, recorded_at, kind, '{}' from job_event"),
    ).toThrow(/append-only/);
    foreign.close();
    const again = await openJobStore(dir, { readOnly: true });
    expect((await again.events(job)).map((each) => each.event)).toContainEqual(note("as it was"));
    await again.close();
  }));

test("a capture left open by a process that died is called recovered at the next start", () =>
  withFolder(async (dir) => {
    const store = await openJobStore(dir, { ballastBytes: 0 });
    const job = await store.newJob();
    const header = sampleHeader();
    await store.addCapture(job, { id: header.capture, run: header.run });
    await store.addCapture(job, { id: header.capture, run: header.run });
    expect(await store.captures(job)).toEqual([{ id: header.capture, run: header.run, state: "open" }]);
    await store.close();
    const next = await openJobStore(dir, { ballastBytes: 0 });
    expect((await next.captures(job))[0]?.state).toBe("recovered");
    expect((await next.findCapture(shortId(header.capture))).job).toBe(job);
    await next.close();
  }));

test("a backup is whole, sound, and never written over a file", () =>
  withStore(async (store, dir) => {
    const job = await store.newJob({ title: "kept" });
    const to = join(dir, "backup.db");
    await store.backup(to);
    expect(sqliteFileProblems(to)).toEqual([]);
    const copy = openDatabase(to, { readOnly: true });
    expect(firstColumn(copy, "select id from job")).toEqual([job]);
    copy.close();
    await expect(store.backup(to)).rejects.toThrow(/exists already/);
    await expect(store.backup(join(dir, "no", "such", "folder.db"))).rejects.toMatchObject({
      code: "data-not-writable",
    });
  }));

test("a record opened to look refuses to write and says why", () =>
  withStore(async (store, dir) => {
    const job = await store.newJob();
    const looking = await openJobStore(dir, { readOnly: true });
    await expect(looking.appendEvent(job, note("x"))).rejects.toThrow(/open for reading only/);
    await looking.close();
  }));

test("looking at a folder without a record makes nothing", () =>
  withFolder(async (dir) => {
    await expect(openJobStore(dir, { readOnly: true })).rejects.toThrow(/There is no job record/);
    expect(existsSync(databasePath(dir))).toBe(false);
  }));

test("a file that is no database is refused and left as it is", () =>
  withFolder(async (dir) => {
    writeFileSync(databasePath(dir), "not a database ".repeat(200));
    await expect(openJobStore(dir)).rejects.toMatchObject({ code: "bad-input" });
    await expect(openJobStore(dir, { readOnly: true })).rejects.toMatchObject({ code: "bad-input" });
  }));
