import { createHash } from "node:crypto";
import { expect, test } from "vitest";
import { BoardFile } from "../../shared/files/board-file.ts";
import type { JobEvent } from "../../shared/record/job.ts";
import type { JobStore } from "../../src/job/store/job-store.ts";
import { fileRun, loggedElsewhere, sampleEnd, sampleHeader, sampleVerdict, type WithStore } from "./sample-job.ts";

const boardOf = (name: string) => BoardFile.parse({ version: 1, name, feeds: { aux: { nominalVolts: 12 } } });
const note = (text: string): JobEvent => ({ kind: "note", text });

/** Four jobs that differ in all that is looked for; answers their ids, oldest first. */
async function fourJobs(store: JobStore): Promise<[string, string, string, string]> {
  const open = async (title: string, kind: string, owner: string, serialNumber: string) => {
    const job = await store.newJob({ title, board: kind });
    await store.appendEvent(job, { kind: "intake", owner, serialNumber, symptom: `dead since ${title}` });
    return job;
  };
  const one = await open("smells burnt", "Kestrel K2", "A. Tern", "K100001");
  await fileRun(store, one, { verdict: sampleVerdict({ class: "dead-short", plateauAmps: 2 }) });
  await store.appendEvent(one, note("Übergang am Kondensator C512"));
  const two = await open("no picture", "Wren W1", "B. Rook", "W200002");
  await fileRun(store, two, { verdict: sampleVerdict({ class: "normal", plateauAmps: 0.8 }) });
  await store.appendEvent(two, {
    kind: "repair",
    text: "replaced the choke",
    parts: [{ name: "choke L12", place: null, source: "donor" }],
  });
  await store.appendEvent(two, { kind: "result", result: "passed", text: null });
  const three = await open("restarts", "Kestrel K3", "A. Tern", "K100003");
  await store.appendEvent(three, { kind: "stage", stage: "waiting-for-parts", text: "choke" });
  const four = await open("comes and goes", "Kestrel K2", "C. Finch", "K100004");
  await store.appendEvent(four, { kind: "result", result: "failed", text: null });
  await store.appendEvent(four, { kind: "result", result: "passed", text: null });
  return [one, two, three, four];
}

/** How jobs are found in a record, whichever database holds it. */
export function findingSuite(name: string, withStore: WithStore): void {
  test(`${name}: jobs are found by words, by what they say and by where they stand, newest first`, () =>
    withStore(async (store) => {
      const [one, two, three, four] = await fourJobs(store);
      const found = async (query: object): Promise<string[]> =>
        (await store.search({ most: 50, ...query })).jobs.map(({ job }) => job);
      expect(await found({})).toEqual([four, three, two, one]);
      const cases: [object, string[]][] = [
        // All the words, in any event, or as beginnings; without case and accents.
        [{ words: "burnt" }, [one]],
        [{ words: "ubergang kond" }, [one]],
        [{ words: "CHOKE" }, [three, two]],
        [{ words: "tern kestrel" }, [three, one]],
        [{ words: "tern picture" }, []],
        [{ words: "c51" }, [one]],
        [{ words: "512" }, []],
        [{ owner: "tern" }, [three, one]],
        [{ serial: "k1000" }, [four, three, one]],
        [{ board: "kestrel k2" }, [four, one]],
        [{ part: "l12" }, [two]],
        [{ class: "dead-short" }, [one]],
        [{ class: "normal" }, [two]],
        // What was said last counts.
        [{ result: "passed" }, [four, two]],
        [{ result: "failed" }, []],
        [{ stage: "waiting-for-parts" }, [three]],
        [{ state: "done" }, [four, two]],
        [{ state: "open" }, [three, one]],
        [{ owner: "tern", state: "open", words: "restarts" }, [three]],
        [{ owner: "%" }, []],
        [{ words: "'; drop table job; --" }, []],
        [{ since: "2999-01-01T00:00:00.000Z" }, []],
        [{ since: "2000-01-01T00:00:00.000Z", class: "normal" }, [two]],
      ];
      for (const [query, ids] of cases) expect(await found(query), JSON.stringify(query)).toEqual(ids);
    }));

  test(`${name}: what was corrected is found by what it reads as today, and no longer by what it was`, () =>
    withStore(async (store) => {
      const job = await store.newJob();
      const wrong = await store.appendEvent(job, { kind: "intake", owner: "A. Tern", serialNumber: "K1" });
      await store.appendEvent(job, {
        kind: "correction",
        of: wrong.id,
        because: "misread",
        event: { kind: "intake", owner: "B. Rook", serialNumber: "K7" },
      });
      const found = async (query: object) => (await store.search({ most: 5, ...query })).jobs.length;
      expect([await found({ owner: "tern" }), await found({ owner: "rook" })]).toEqual([0, 1]);
      expect([await found({ serial: "K1" }), await found({ serial: "K7" })]).toEqual([0, 1]);
    }));

  test(`${name}: pages of a list follow each other without a gap and without a job twice`, () =>
    withStore(async (store) => {
      const ids: string[] = [];
      for (let each = 0; each < 23; each++)
        ids.unshift(await store.newJob({ title: `job ${each % 2 === 0 ? "even" : "odd"}` }));
      for (const query of [{}, { words: "even" }]) {
        const all = (await store.search({ most: 100, ...query })).jobs.map(({ job }) => job);
        const paged: string[] = [];
        for (let more = true, after: string | undefined; more; after = paged.at(-1)) {
          const page = await store.search({ most: 5, ...query, ...(after === undefined ? {} : { after }) });
          paged.push(...page.jobs.map(({ job }) => job));
          more = page.more;
        }
        expect(paged).toEqual(all);
        if (!("words" in query)) expect(all).toEqual(ids);
      }
    }));

  test(`${name}: a job is found by what it said last, in whatever order that came, and as it was corrected`, () =>
    withStore(async (store) => {
      const results = (["failed", "passed", "returned"] as const).map(
        (result) => ({ kind: "result", result, text: null }) as const,
      );
      const logged = loggedElsewhere([{ kind: "opened", title: "from elsewhere", board: null }, ...results]);
      const job = logged[0]?.event.job ?? "";
      const found = async (query: object): Promise<string[]> =>
        (await store.search({ most: 5, ...query })).jobs.map((each) => each.job);
      // The latest comes first, and the earlier ones after it.
      await store.set.takeIn("elsewhere~00000001", logged.toReversed().slice(0, 1));
      await store.set.takeIn("elsewhere~00000001", logged.slice(0, 3));
      for (const [query, isFound] of [
        [{ result: "returned" }, true],
        [{ result: "passed" }, false],
        [{ result: "failed" }, false],
        [{ state: "open" }, true],
        [{ state: "done" }, false],
      ] as const)
        expect(await found(query), JSON.stringify(query)).toEqual(isFound ? [job] : []);
      const correct = (of: string | undefined, result: "passed" | "failed" | "returned") =>
        store.appendEvent(job, {
          kind: "correction",
          of: of ?? "",
          because: "misread",
          event: { kind: "result", result, text: null },
        });
      // An earlier result that is corrected later still stands where it stood.
      await correct(logged[1]?.event.id, "passed");
      expect(await found({ result: "returned" })).toEqual([job]);
      expect(await found({ result: "passed" })).toEqual([]);
      await correct(logged[3]?.event.id, "failed");
      expect(await found({ result: "failed", state: "done" })).toEqual([job]);
      expect(await found({ state: "open" })).toEqual([]);
    }));

  test(`${name}: the draws most like one come nearest first, its own never`, () =>
    withStore(async (store) => {
      const runs = new Map<number, string>();
      for (const amps of [0.5, 0.81, 0.82, 0.83, 0.9, 1.5, 3]) {
        const job = await store.newJob();
        const header = await fileRun(store, job, {
          header: sampleHeader(),
          verdict: sampleVerdict({ plateauAmps: amps }),
        });
        runs.set(amps, header.run);
      }
      const own = runs.get(0.82) ?? "";
      const similar = await store.similar(own, 4);
      expect(
        similar
          .map(({ plateauAmps }) => plateauAmps)
          .slice(0, 2)
          .sort(),
      ).toEqual([0.81, 0.83]);
      expect(similar.map(({ plateauAmps }) => plateauAmps).slice(2)).toEqual([0.9, 0.5]);
      expect(similar.every(({ run }) => run !== own)).toBe(true);
      expect(similar.map(({ distance }) => distance)).toEqual(
        similar.map(({ distance }) => distance).sort((a, b) => a - b),
      );
      await expect(store.similar("0193f5a2-7c11-7a44-9d1e-000000000000", 3)).rejects.toMatchObject({
        code: "bad-input",
      });
    }));

  test(`${name}: the draws most like one are the nearest of all, also of thousands with nearly one plateau`, () =>
    withStore(async (store) => {
      const draws = Array.from({ length: 2400 }, (_, index) => {
        // Whole numbers of a walk that comes nowhere twice, so that no two draws are alike.
        const at = (step: number, of: number) => ((index * step) % of) / of;
        const { features, ...verdict } = sampleVerdict({
          plateauAmps: index % 50 === 0 ? null : 0.8 + at(1009, 2400) / 100,
        });
        return {
          ...verdict,
          features: {
            ...features,
            peakAmps: 1 + at(617, 1201),
            chargeCoulombs: 0.02 + at(389, 1103) / 50,
            inputFarads: index % 7 === 0 ? null : 0.001 + at(211, 1009) / 500,
            shortOhms: index % 5 === 0 ? 0.1 + at(97, 907) : null,
          },
        };
      });
      const headers = draws.map(() => sampleHeader());
      const logged = loggedElsewhere(
        draws.flatMap((verdict, index): JobEvent[] => {
          const header = headers[index] ?? sampleHeader();
          return [
            { kind: "run-started", header },
            { kind: "run-ended", end: sampleEnd(header, verdict) },
          ];
        }),
      );
      await store.set.takeIn("elsewhere~00000001", logged);
      // Said once more in words of docs/record.md: figures by their uncertainties, 10 % of those beside the plateau, 3 for one that is lacking.
      const apart = (a: (typeof draws)[0]["features"], b: typeof a): number => {
        const plateau = (amps: number) => (0.001 * amps + 0.003) / Math.sqrt(3);
        const offs: number[] = [];
        if (a.plateauAmps !== null && b.plateauAmps !== null) {
          const step = 0.001 / Math.sqrt(12);
          const both = Math.hypot(plateau(a.plateauAmps), step, plateau(b.plateauAmps), step);
          offs.push((a.plateauAmps - b.plateauAmps) / both);
        }
        for (const name of ["peakAmps", "chargeCoulombs", "inputFarads", "shortOhms", "periodMs"] as const) {
          const [one, other] = [a[name], b[name]];
          if (one === null && other === null) continue;
          offs.push(one === null || other === null ? 3 : (one - other) / (0.1 * Math.hypot(one, other)));
        }
        return Math.sqrt(offs.reduce((sum, off) => sum + off * off, 0) / offs.length);
      };
      for (const own of [1, 50, 1200, 2399]) {
        const features = draws[own]?.features ?? draws[0]?.features;
        if (features === undefined) throw new Error("no draw");
        const wanted = draws
          .map((draw, index) => ({ index, apart: apart(features, draw.features) }))
          .filter(
            ({ index }) =>
              index !== own && (draws[index]?.features.plateauAmps === null) === (features.plateauAmps === null),
          )
          .sort((a, b) => a.apart - b.apart)
          .slice(0, 10);
        const found = await store.similar(headers[own]?.run ?? "", 10);
        expect(found.map(({ run }) => run)).toEqual(wanted.map(({ index }) => headers[index]?.run));
        found.forEach(({ distance }, index) => {
          expect(distance).toBeCloseTo(wanted[index]?.apart ?? Number.NaN, 6);
        });
      }
    }));

  test(`${name}: a comeback is linked to its first job, and boards that passed are known by their kind`, () =>
    withStore(async (store) => {
      const first = await store.newJob({ title: "first", board: "Kestrel K2" });
      await store.appendEvent(first, { kind: "result", result: "passed", text: null });
      const again = await store.newJob({ title: "again", comebackOf: first });
      const third = await store.newJob({ title: "third", comebackOf: first });
      expect(await store.comebacksOf(first)).toEqual([again, third]);
      expect(await store.comebacksOf(again)).toEqual([]);
      await fileRun(store, third, { header: sampleHeader({ board: boardOf("Kestrel K2") }) });
      await store.appendEvent(third, { kind: "result", result: "passed", text: null });
      expect(await store.everPassed("kestrel K2", 10)).toEqual([third, first]);
      expect(await store.everPassed("Kestrel K2", 1)).toEqual([third]);
      expect(await store.everPassed("Kestrel", 10)).toEqual([]);
    }));

  test(`${name}: a run's capture is open until its end is said, and the first word on it stands`, () =>
    withStore(async (store) => {
      const job = await store.newJob();
      const header = sampleHeader();
      await store.appendEvent(job, { kind: "run-started", header }, { id: header.run });
      await store.addCapture(job, { id: header.capture, run: header.run });
      await store.addCapture(job, { id: header.capture, run: header.run });
      expect(await store.captures(job)).toEqual([{ id: header.capture, run: header.run, state: "open" }]);
      await store.endCapture(header.capture, "closed");
      await store.endCapture(header.capture, "recovered");
      expect(await store.findCapture(header.capture.slice(-8))).toMatchObject({ job, state: "closed" });
    }));

  test(`${name}: bytes are kept once under their hash, however often they are attached`, () =>
    withStore(async (store) => {
      const bytes = Buffer.from("89504e470d0a1a0a0000000d49484452", "hex");
      const sha256 = createHash("sha256").update(bytes).digest("hex");
      const [one, other] = [await store.newJob(), await store.newJob()];
      for (const job of [one, one, other]) await store.attachBytes(job, bytes, { name: "front.png" });
      expect(await store.attachment(sha256)).toMatchObject({ bytes: bytes.length, media_type: "image/png" });
      expect((await store.jobRows(one)).attachments).toHaveLength(1);
      expect((await store.events(one)).filter(({ event }) => event.kind === "attachment")).toHaveLength(2);
    }));
}
