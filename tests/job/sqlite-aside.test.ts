import { fileURLToPath } from "node:url";
import { expect, test } from "vitest";
import { databasePath } from "../../src/job/database/database-path.ts";
import { openSqliteAside } from "../../src/job/database/sqlite-aside.ts";
import { openDatabase } from "../../src/job/database/sqlite-engine.ts";
import { openJobStore } from "../../src/job/store/open-job-store.ts";
import { findingSuite } from "./finding-suite.ts";
import { recordSuite } from "./record-suite.ts";
import { type WithStore, withFolder } from "./sample-job.ts";

/** A thread runs a built file; the build is made before the tests run. */
const WORKER = fileURLToPath(new URL("../../dist/src/job/database/sqlite-worker.js", import.meta.url));

const onThread: WithStore = (work, { maxPages, ...options } = {}) =>
  withFolder(async (dir) => {
    const file = await openSqliteAside(databasePath(dir), maxPages === undefined ? {} : { maxPages }, WORKER);
    const store = await openJobStore(dir, { ballastBytes: 0, ...options, database: file });
    try {
      return await work(store, dir);
    } finally {
      await store.close();
    }
  });

recordSuite("SQLite on a thread", onThread);
findingSuite("SQLite on a thread", onThread);

test("the thread that asks is free while a commit waits for a locked file, and the commit comes after it", () =>
  onThread(async (store, dir) => {
    const job = await store.newJob();
    const other = openDatabase(databasePath(dir));
    other.exec("begin immediate");
    let turns = 0;
    const beat = setInterval(() => turns++, 10);
    let isFiled = false;
    const filing = store.appendEvent(job, { kind: "note", text: "late" }).then(() => {
      isFiled = true;
    });
    while (turns < 30) await new Promise((resolve) => setTimeout(resolve, 10));
    expect(isFiled).toBe(false);
    other.exec("rollback");
    other.close();
    await filing;
    clearInterval(beat);
    expect((await store.events(job)).at(-1)?.event).toEqual({ kind: "note", text: "late" });
  }));

test("an error of the thread has SQLite's own name (https://www.sqlite.org/rescode.html)", () =>
  withFolder(async (dir) => {
    const path = databasePath(dir);
    await expect(openSqliteAside(`${dir}/none/firstamp.db`, {}, WORKER)).rejects.toMatchObject({
      code: "SQLITE_CANTOPEN",
    });
    const file = await openSqliteAside(path, {}, WORKER);
    const store = await openJobStore(dir, { ballastBytes: 0, database: file });
    await expect(file.copyTo(path)).rejects.toMatchObject({ message: expect.stringContaining("already exists") });
    await store.close();
    await expect(store.list()).rejects.toThrow();
  }));

test("where no thread can be had the record is open on this one", () =>
  withFolder(async (dir) => {
    const file = await openSqliteAside(databasePath(dir), {}, `${dir}/none.js`);
    const store = await openJobStore(dir, { ballastBytes: 0, database: file });
    const job = await store.newJob({ title: "as ever" });
    expect((await store.list()).map((each) => each.job)).toEqual([job]);
    await store.close();
  }));
