import { existsSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "vitest";
import type { JobEvent } from "../../shared/job.ts";
import { databasePath } from "../../src/job/store/database-path.ts";
import { openJobStore } from "../../src/job/store/open-job-store.ts";
import { firstColumn, openDatabase } from "../../src/job/store/sqlite-engine.ts";
import { sqliteFileProblems } from "../../src/job/store/sqlite-file.ts";
import { shortId, uuidV7 } from "../../src/job/store/uuid-v7.ts";
import { fileRun, sampleHeader, sampleVerdict, withFolder, withStore } from "./sample-job.ts";

const note = (text: string): JobEvent => ({ kind: "note", text });

test("a job opens with its title and keeps its events in order", () =>
  withStore(
    async (store) => {
      const job = await store.newJob({ title: "Mrs. Tern's K2", board: "Kestrel K2" });
      for (const text of ["one", "two", "three"]) await store.appendEvent(job, note(text));
      const events = await store.events(job);
      expect(events.map((each) => each.seq)).toEqual([1, 2, 3, 4]);
      expect(events.map((each) => each.event)).toEqual([
        { kind: "opened", title: "Mrs. Tern's K2", board: "Kestrel K2" },
        note("one"),
        note("two"),
        note("three"),
      ]);
      expect(events[0]?.recordedAt).toBe("2026-11-25T08:00:00.000Z");
    },
    { nowMs: () => Date.UTC(2026, 10, 25, 8) },
  ));

test("the list is newest first and tells title, runs and the last class", () =>
  withStore(async (store) => {
    const first = await store.newJob({ title: "first" });
    const second = await store.newJob();
    await fileRun(store, first, { verdict: sampleVerdict({ class: "dead-short" }) });
    await fileRun(store, first);
    const list = await store.list();
    expect(list.map((each) => each.job)).toEqual([second, first]);
    expect(list[1]).toMatchObject({
      title: "first",
      runs: 2,
      lastClass: "core-alive",
      short: shortId(first),
      events: 7,
    });
    expect(list[0]).toMatchObject({ title: null, runs: 0, lastClass: null, events: 1 });
  }));

test("an event filed twice under one id is there once, and the answer is the first", () =>
  withStore(async (store) => {
    const job = await store.newJob();
    const id = uuidV7();
    const first = await store.appendEvent(job, note("said once"), { id });
    expect(await store.appendEvent(job, note("said once"), { id })).toEqual(first);
    expect(await store.events(job)).toHaveLength(2);
  }));

test("an id that was used for another event or another job is refused", () =>
  withStore(async (store) => {
    const [job, other] = [await store.newJob(), await store.newJob()];
    const id = uuidV7();
    await store.appendEvent(job, note("one"), { id });
    await expect(store.appendEvent(job, note("two"), { id })).rejects.toThrow(/was used before for another event/);
    await expect(store.appendEvent(other, note("one"), { id })).rejects.toThrow(/was used before for another event/);
    expect((await store.events(job)).length + (await store.events(other)).length).toBe(3);
  }));

test("an event for a job that is not there is refused", () =>
  withStore(async (store) => {
    await expect(store.appendEvent(uuidV7(), note("x"))).rejects.toThrow(/There is no job/);
  }));

test("an event that is not as its schema says is refused with the field, and nothing is filed", () =>
  withStore(async (store) => {
    const job = await store.newJob();
    const wrong = { kind: "note", text: "x", extra: 1 } as unknown as JobEvent;
    await expect(store.appendEvent(job, wrong)).rejects.toThrow(/extra/);
    const reading = {
      kind: "run-events",
      run: uuidV7(),
      events: [
        {
          event: "reading",
          atMs: 0,
          reading: {
            feed: "aux",
            queriedAtMs: 0,
            atMs: 0,
            volts: { kind: "no-reading" },
            amps: { kind: "no-reading" },
            mode: "cv",
            together: true,
          },
        },
      ],
    } as unknown as JobEvent;
    await expect(store.appendEvent(job, reading)).rejects.toThrow(/readings belong in the capture/);
    expect(await store.events(job)).toHaveLength(1);
  }));

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

test("a correction keeps the original and changes what the job reads as", () =>
  withStore(async (store) => {
    const job = await store.newJob({ title: "wrong title" });
    const [opened] = await store.events(job);
    await store.appendEvent(job, {
      kind: "correction",
      of: opened?.id ?? "",
      because: "misread",
      event: { kind: "opened", title: "right title", board: null },
    });
    expect((await store.list())[0]?.title).toBe("right title");
    expect((await store.events(job))[0]).toEqual(opened);
  }));

test("what the bench saw cannot be corrected, nor can an event of another kind or job stand in", () =>
  withStore(async (store) => {
    const [job, other] = [await store.newJob(), await store.newJob()];
    const header = await fileRun(store, job);
    const foreign = await store.appendEvent(other, note("elsewhere"));
    const own = await store.appendEvent(job, note("here"));
    const correct = (of: string, event: JobEvent) =>
      store.appendEvent(job, { kind: "correction", of, because: "", event } as JobEvent);
    await expect(correct(header.run, note("no"))).rejects.toThrow(/cannot be corrected/);
    await expect(correct(foreign.id, note("no"))).rejects.toThrow(/no event of this job/);
    await expect(correct(own.id, { kind: "repair", text: "", parts: [] })).rejects.toThrow(/should be a "note"/);
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
    await expect(store.backup(to)).rejects.toThrow(/there already/);
    await expect(store.backup(join(dir, "no", "such", "folder.db"))).rejects.toMatchObject({
      code: "data-not-writable",
    });
  }));

test("a record opened to look refuses to write and says why", () =>
  withStore(async (store, dir) => {
    const job = await store.newJob();
    const looking = await openJobStore(dir, { readOnly: true });
    await expect(looking.appendEvent(job, note("x"))).rejects.toThrow(/opened to look only/);
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

test("a text with any characters comes back as it was", () =>
  withStore(async (store) => {
    const job = await store.newJob({ title: 'a "title" \u0000\u001b[31m\ud800 𝄞' });
    const odd = 'nul \u0000 half \ud800 line\r\nquote " back \\ \u2028 𝄞 {}';
    await store.appendEvent(job, note(odd));
    expect((await store.events(job)).at(-1)?.event).toEqual(note(odd));
    expect((await store.list())[0]?.title).toBe('a "title" \u0000\u001b[31m\ud800 𝄞');
  }));
