import { Kysely } from "kysely";
import { expect, test } from "vitest";
import { databasePath } from "../../src/job/database/database-path.ts";
import { migrate } from "../../src/job/database/migrations.ts";
import { openDatabase } from "../../src/job/database/sqlite-engine.ts";
import { openSqliteFile } from "../../src/job/database/sqlite-file.ts";
import { openJobStore } from "../../src/job/store/open-job-store.ts";
import { uuidV7 } from "../../src/job/store/uuid-v7.ts";
import { sampleEnd, sampleHeader, sampleVerdict, withFolder } from "./sample-job.ts";

test("a record from before events were a set keeps their order and texts, and is found by words, owner and class", () =>
  withFolder(async (dir) => {
    const file = openSqliteFile(databasePath(dir));
    const db = new Kysely<never>({ dialect: file.dialect });
    await migrate(db as never, file, dir, 3);
    await db.destroy();
    const old = openDatabase(databasePath(dir));
    const [job, header] = [uuidV7(), sampleHeader()];
    old.prepare("insert into job values (?, ?)").run(job, "2026-11-25T08:00:00.000Z");
    const filed: [string, object, string][] = [
      [uuidV7(), { kind: "opened", title: "Mrs. Tern's K2", board: "Kestrel K2" }, "2026-11-25T08:00:00.000Z"],
      // The clock was set back by an hour in between.
      [uuidV7(), { kind: "intake", owner: "A. Tern", symptom: "no picture" }, "2026-11-25T07:00:00.000Z"],
      [header.run, { kind: "run-started", header }, "2026-11-25T07:00:00.000Z"],
      [uuidV7(), { kind: "run-ended", end: sampleEnd(header, sampleVerdict()) }, "2026-11-25T07:01:00.000Z"],
    ];
    filed.forEach(([id, event, at], index) => {
      old
        .prepare("insert into job_event values (?, ?, ?, ?, ?, ?)")
        .run(id, job, index + 1, at, (event as { kind: string }).kind, JSON.stringify(event));
    });
    old.prepare("insert into capture values (?, ?, ?, 'closed')").run(header.capture, job, header.run);
    old.close();

    const store = await openJobStore(dir, { ballastBytes: 0 });
    const events = await store.events(job);
    expect(events.map(({ id, recordedAt }) => [id, recordedAt])).toEqual(filed.map(([id, , at]) => [id, at]));
    expect(await store.captures(job)).toEqual([{ id: header.capture, run: header.run, state: "closed" }]);
    for (const asked of [{ words: "picture" }, { owner: "tern" }, { class: "core-alive" }, { board: "kestrel" }])
      expect((await store.search({ ...asked, most: 5 })).jobs.map((each) => each.job)).toEqual([job]);
    await store.appendEvent(job, { kind: "note", text: "later" });
    expect((await store.events(job)).at(-1)?.seq).toBe(5);
    await store.close();
  }));
