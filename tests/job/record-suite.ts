import { expect, test } from "vitest";
import { BoardFile } from "../../shared/files/board-file.ts";
import type { JobEvent } from "../../shared/record/job.ts";
import { shortId, uuidV7 } from "../../src/job/store/uuid-v7.ts";
import { fileRun, loggedElsewhere, sampleEnd, sampleHeader, sampleVerdict, type WithStore } from "./sample-job.ts";

const note = (text: string): JobEvent => ({ kind: "note", text });

/** What a record does, whichever database holds it. */
export function recordSuite(name: string, withStore: WithStore): void {
  test(`${name}: a job opens with its title and keeps its events in order`, () =>
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

  test(`${name}: the list is newest first and tells title, runs and the last class`, () =>
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

  test(`${name}: an event filed twice under one id is there once, and the answer is the first`, () =>
    withStore(async (store) => {
      const job = await store.newJob();
      const id = uuidV7();
      const first = await store.appendEvent(job, note("said once"), { id });
      expect(await store.appendEvent(job, note("said once"), { id })).toEqual(first);
      expect(await store.events(job)).toHaveLength(2);
    }));

  test(`${name}: an id that was used for another event or another job is refused`, () =>
    withStore(async (store) => {
      const [job, other] = [await store.newJob(), await store.newJob()];
      const id = uuidV7();
      await store.appendEvent(job, note("one"), { id });
      await expect(store.appendEvent(job, note("two"), { id })).rejects.toThrow(/is already used by another event/);
      await expect(store.appendEvent(other, note("one"), { id })).rejects.toThrow(/is already used by another event/);
      expect((await store.events(job)).length + (await store.events(other)).length).toBe(3);
    }));

  test(`${name}: an event for a job that is not there is refused`, () =>
    withStore(async (store) => {
      await expect(store.appendEvent(uuidV7(), note("x"))).rejects.toThrow(/There is no job/);
    }));

  test(`${name}: an event that is not as its schema says is refused with the field, and nothing is filed`, () =>
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

  test(`${name}: a correction keeps the original and changes what the job reads as`, () =>
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

  test(`${name}: what the bench saw cannot be corrected, nor can an event of another kind or job stand in`, () =>
    withStore(async (store) => {
      const [job, other] = [await store.newJob(), await store.newJob()];
      const header = await fileRun(store, job);
      const foreign = await store.appendEvent(other, note("elsewhere"));
      const own = await store.appendEvent(job, note("here"));
      const correct = (of: string, event: JobEvent) =>
        store.appendEvent(job, { kind: "correction", of, because: "", event } as JobEvent);
      await expect(correct(header.run, note("no"))).rejects.toThrow(/cannot be corrected/);
      await expect(correct(foreign.id, note("no"))).rejects.toThrow(/not an event of this job/);
      await expect(correct(own.id, { kind: "repair", text: "", parts: [] })).rejects.toThrow(/should be a "note"/);
    }));

  test(`${name}: thousands of events of another bench are there once, as they were, however often they come`, () =>
    withStore(async (store) => {
      const origin = "elsewhere~00000001";
      const header = sampleHeader({
        board: BoardFile.parse({ version: 1, name: "Kestrel \u0000 \ud800 K2", feeds: { aux: { nominalVolts: 12 } } }),
      });
      const logged = loggedElsewhere([
        { kind: "opened", title: "from elsewhere", board: "Kestrel K2" },
        ...Array.from({ length: 3000 }, (_, index) => note(`"${index}" \\ \n \u0000 \ud800 𝄞`)),
        { kind: "run-started", header },
        { kind: "run-ended", end: sampleEnd(header, sampleVerdict()) },
      ]);
      const first = await store.set.takeIn(origin, logged.slice(0, 2000));
      expect(first.events).toHaveLength(2000);
      const second = await store.set.takeIn(origin, logged.slice(1000));
      expect(second.events).toEqual(logged.slice(2000).map(({ event }) => event));
      expect((await store.set.takeIn(origin, logged)).events).toEqual([]);
      expect(await store.set.after(origin, 0, 10_000)).toEqual(logged);
      expect(await store.list()).toMatchObject([
        { title: "from elsewhere", board: "Kestrel K2", events: 3003, runs: 1, lastClass: "core-alive" },
      ]);
      const likeThis = sampleHeader();
      await fileRun(store, logged[0]?.event.job ?? "", { header: likeThis });
      expect((await store.similar(likeThis.run, 1)).map(({ board }) => board)).toEqual(["Kestrel   \ufffd K2"]);
      const [own] = (await store.search({ words: "2999 elsewhere", most: 5 })).jobs;
      expect(own?.job).toBe(logged[0]?.event.job);
    }));

  test(`${name}: of what another bench sent, what is no event is left out and said, and another text of one that is here`, () =>
    withStore(async (store) => {
      const origin = "elsewhere~00000001";
      const [good, ...bad] = loggedElsewhere(Array.from({ length: 7 }, (_, index) => note(String(index))));
      const spoilt = [
        { id: "../../etc/passwd" },
        { job: "no job" },
        { stamp: "soon" },
        { recorded_at: "yesterday" },
        { body: "{" },
        { body: '{"kind":"opened"}' },
      ].map((change, index) => ({ ...bad[index], event: { ...bad[index]?.event, ...change } }));
      const taken = await store.set.takeIn(origin, [good, ...spoilt] as never);
      expect(taken.events).toEqual([good?.event]);
      expect(taken.troubles).toHaveLength(6);
      const other = { ...good, no: 8, event: { ...good?.event, body: '{"kind":"note","text":"changed"}' } };
      const again = await store.set.takeIn(origin, [other] as never);
      expect(again).toEqual({ events: [], troubles: [expect.stringMatching(/differs from the one here/)] });
      expect((await store.events(good?.event.job ?? "")).map(({ event }) => event)).toEqual([note("0")]);
      const copied = { ...good, event: bad[0]?.event };
      await expect(store.set.takeIn(origin, [copied] as never)).rejects.toThrow(/one is a copy of the other/);
    }));

  test(`${name}: a text with any characters comes back as it was`, () =>
    withStore(async (store) => {
      const job = await store.newJob({ title: 'a "title" \u0000\u001b[31m\ud800 𝄞' });
      const odd = 'nul \u0000 half \ud800 line\r\nquote " back \\ \u2028 𝄞 {}';
      await store.appendEvent(job, note(odd));
      expect((await store.events(job)).at(-1)?.event).toEqual(note(odd));
      expect((await store.list())[0]?.title).toBe('a "title" \u0000\u001b[31m\ud800 𝄞');
    }));
}
