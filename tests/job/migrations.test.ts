import { Kysely } from "kysely";
import { expect, test } from "vitest";
import { databasePath } from "../../src/job/database/database-path.ts";
import type { JobTables } from "../../src/job/database/job-tables.ts";
import { migrationNames } from "../../src/job/database/migration-names.ts";
import { migrate } from "../../src/job/database/migrations.ts";
import { firstColumn, openDatabase } from "../../src/job/database/sqlite-engine.ts";
import { openSqliteFile } from "../../src/job/database/sqlite-file.ts";
import { fileEvents } from "../../src/job/store/file-events.ts";
import { openJobStore } from "../../src/job/store/open-job-store.ts";
import { uuidV7 } from "../../src/job/store/uuid-v7.ts";
import { withFolder } from "./sample-job.ts";

const JOB = uuidV7();

/** A record as the first `steps` migrations leave it, with one job in it. */
async function recordAt(dir: string, steps: number): Promise<void> {
  const file = openSqliteFile(databasePath(dir));
  const db = new Kysely<JobTables>({ dialect: file.dialect });
  await migrate(db, file, dir, steps);
  await db.insertInto("job").values({ id: JOB, created_at: "2026-11-25T08:00:00.000Z" }).execute();
  const event = {
    id: uuidV7(),
    job: JOB,
    recorded_at: "2026-11-25T08:00:00.000Z",
    kind: "opened",
    body: JSON.stringify({ kind: "opened", title: "old", board: null }),
  } as const;
  // Before the fourth step an event was numbered in its job.
  if (steps < 4) {
    const old = db as unknown as Kysely<{ job_event: typeof event & { seq: number } }>;
    await old
      .insertInto("job_event")
      .values({ ...event, seq: 1 })
      .execute();
  } else await fileEvents(db, file, [{ ...event, stamp: "001764057600000.00000000." }]);
  await db.destroy();
}

test.each(migrationNames.map((_, index) => index + 1))(
  "a record made at step %i is brought up to date with its jobs",
  (steps) =>
    withFolder(async (dir) => {
      await recordAt(dir, steps);
      const store = await openJobStore(dir, { ballastBytes: 0 });
      expect((await store.list()).map((each) => each.title)).toEqual(["old"]);
      expect(await store.captures(JOB)).toEqual([]);
      await store.close();
    }),
);

test("an older record is not changed by looking at it; the sentence says what to do", () =>
  withFolder(async (dir) => {
    await recordAt(dir, 1);
    await expect(openJobStore(dir, { readOnly: true })).rejects.toThrow(/older firstamp; run any command that writes/);
  }));

test("a record of a newer program is refused and not changed", () =>
  withFolder(async (dir) => {
    await (await openJobStore(dir, { ballastBytes: 0 })).close();
    const foreign = openDatabase(databasePath(dir));
    foreign.exec("insert into kysely_migration values ('9999-later', '2027-01-01T00:00:00.000Z')");
    foreign.close();
    for (const readOnly of [false, true]) {
      await expect(openJobStore(dir, { readOnly })).rejects.toThrow(
        /newer firstamp \(it has 9999-later\); use that version; nothing was changed/,
      );
    }
  }));

test("the log is written ahead and synced in full", () =>
  withFolder(async (dir) => {
    await (await openJobStore(dir, { ballastBytes: 0 })).close();
    const file = openDatabase(databasePath(dir), { readOnly: true });
    expect(firstColumn(file, "pragma journal_mode")).toEqual(["wal"]);
    file.close();
    const { dialect, close } = openSqliteFile(databasePath(dir));
    const db = new Kysely<JobTables>({ dialect });
    const { sql } = await import("kysely");
    // 2 is FULL (SQLite's PRAGMA synchronous).
    expect((await sql<{ synchronous: number }>`pragma synchronous`.execute(db)).rows[0]?.synchronous).toBe(2);
    close();
  }));
