import { execFileSync } from "node:child_process";
import { createHash } from "node:crypto";
import { existsSync, readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import fc from "fast-check";
import { unzipSync } from "fflate";
import { expect, test } from "vitest";
import { captureFile } from "../../src/capture/capture-files.ts";
import { exportJob } from "../../src/job/archive/export-job.ts";
import { importJob } from "../../src/job/archive/import-job.ts";
import { openJobStore } from "../../src/job/store/open-job-store.ts";
import { uuidV7 } from "../../src/job/store/uuid-v7.ts";
import { filesBesideDatabase, fullJob } from "./full-job.ts";
import { fileRun, sampleHeader, withFolder, withStore } from "./sample-job.ts";

test("export, import, export gives the same bytes, and the imported job reads as the first", () =>
  withFolder((files) =>
    withStore(async (first) => {
      const job = await fullJob(first, files);
      const [one, two] = [join(files, "one.zip"), join(files, "two.zip")];
      expect(await exportJob(first, job, one)).toBe("written");
      await withStore(async (second) => {
        const { log } = await first.show(job);
        expect(await importJob(second, one)).toMatchObject({ job, done: "imported" });
        const here = await second.show(job);
        expect(here.log.slice(0, -1)).toEqual(log);
        // How it came is the last event here: the file by its sum, which anybody can check, and no word that it is genuine.
        const sum = createHash("sha256").update(readFileSync(one)).digest("hex");
        const came = { kind: "imported", file: "one.zip", sha256: sum, events: log.length, signed: false };
        expect(here.log.at(-1)?.event).toMatchObject(came);
        await exportJob(second, job, two);
        expect(readFileSync(two).equals(readFileSync(one))).toBe(true);
        const [capture] = await second.captures(job);
        const id = capture?.id ?? "";
        expect(readFileSync(captureFile(second.captureDir, id))).toEqual(
          readFileSync(captureFile(first.captureDir, id)),
        );
      });
    }),
  ));

test("notes with any text come through an archive unchanged, byte for byte", () =>
  withFolder((files) =>
    withStore((first) =>
      withStore((second) =>
        fc.assert(
          fc.asyncProperty(fc.array(fc.string({ unit: "binary", maxLength: 80 }), { maxLength: 5 }), async (texts) => {
            const job = await first.newJob({ title: texts[0]?.slice(0, 50) ?? "none" });
            for (const text of texts) await first.appendEvent(job, { kind: "note", text });
            const [one, two] = [join(files, `${job}-1.zip`), join(files, `${job}-2.zip`)];
            await exportJob(first, job, one);
            await importJob(second, one);
            await exportJob(second, job, two);
            expect(readFileSync(two).equals(readFileSync(one))).toBe(true);
            expect((await second.events(job)).slice(0, -1)).toEqual(await first.events(job));
          }),
          { numRuns: 40, examples: [[["\ud800 half", '__proto__ " \u2028', "{}\n[]\r\n"]]] },
        ),
      ),
    ),
  ));

test("programs that are not ours read the archive: fflate and Python's zipfile", () =>
  withFolder((files) =>
    withStore(async (store) => {
      const job = await fullJob(store, files);
      const out = join(files, "job.zip");
      await exportJob(store, job, out);
      const entries = unzipSync(readFileSync(out));
      expect(Object.keys(entries).slice(0, 2)).toEqual(["job.json", "events.jsonl"]);
      const manifest = JSON.parse(new TextDecoder().decode(entries["job.json"]));
      for (const { name, sha256 } of manifest.files) {
        expect(
          createHash("sha256")
            .update(entries[name] ?? "")
            .digest("hex"),
        ).toBe(sha256);
      }
      const python =
        "import sys,zipfile; z=zipfile.ZipFile(sys.argv[1]); print(z.testzip(), len(z.namelist()), z.infolist()[0].date_time[0])";
      expect(execFileSync("python3", ["-c", python, out]).toString().trim()).toBe(
        `None ${Object.keys(entries).length} 1980`,
      );
    }),
  ));

test("exporting again over the same bytes is fine, over anything else is refused and leaves it alone", () =>
  withFolder((files) =>
    withStore(async (store) => {
      const job = await fullJob(store, files);
      const out = join(files, "job.zip");
      await exportJob(store, job, out);
      expect(await exportJob(store, job, out)).toBe("same");
      await store.appendEvent(job, { kind: "note", text: "later" });
      const before = readFileSync(out);
      await expect(exportJob(store, job, out)).rejects.toThrow(/another file exists there/);
      expect(readFileSync(out).equals(before)).toBe(true);
      await expect(exportJob(store, job, join(files, "no", "folder.zip"))).rejects.toMatchObject({
        code: "data-not-writable",
      });
      expect(readdirSync(files).sort()).toEqual(["job.zip", "photo.png"]);
    }),
  ));

test("the very same job imported twice does nothing; a different one under its id is refused and nothing is written", () =>
  withFolder((files) =>
    withStore(async (first) => {
      const job = await fullJob(first, files);
      const [one, two] = [join(files, "one.zip"), join(files, "two.zip")];
      await exportJob(first, job, one);
      await first.appendEvent(job, { kind: "note", text: "later" });
      await exportJob(first, job, two);
      await withStore(async (second, dir) => {
        await importJob(second, one);
        const before = [await second.show(job), filesBesideDatabase(dir)];
        expect(await importJob(second, one)).toEqual({ job, done: "same" });
        await expect(importJob(second, two)).rejects.toThrow(/here already and differs/);
        expect([await second.show(job), filesBesideDatabase(dir)]).toEqual(before);
      });
    }),
  ));

test("a job with a run going on is not exported; one left open by a dead process is, as recovered", () =>
  withFolder((files) =>
    withFolder(async (dir) => {
      const store = await openJobStore(dir, { ballastBytes: 0 });
      const job = await store.newJob();
      const header = sampleHeader();
      await store.appendEvent(job, { kind: "run-started", header }, { id: header.run });
      await store.addCapture(job, { id: header.capture, run: header.run });
      await expect(exportJob(store, job, join(files, "a.zip"))).rejects.toThrow(/being recorded/);
      const looking = await openJobStore(dir, { readOnly: true });
      await expect(exportJob(looking, job, join(files, "a.zip"))).rejects.toThrow(/being recorded/);
      await store.close();
      await exportJob(looking, job, join(files, "a.zip"));
      await looking.close();
      await withStore(async (second) => {
        await importJob(second, join(files, "a.zip"));
        expect((await second.captures(job))[0]?.state).toBe("recovered");
        await exportJob(second, job, join(files, "b.zip"));
        expect(readFileSync(join(files, "b.zip")).equals(readFileSync(join(files, "a.zip")))).toBe(true);
      });
    }),
  ));

test("an event id that is in another job here is refused, and the files of the import are gone again", () =>
  withFolder((files) =>
    withStore(async (first) => {
      const job = await first.newJob();
      const id = uuidV7();
      await first.appendEvent(job, { kind: "note", text: "a" }, { id });
      await fileRun(first, job);
      await exportJob(first, job, join(files, "job.zip"));
      await withStore(async (second, dir) => {
        const other = await second.newJob();
        await second.appendEvent(other, { kind: "note", text: "b" }, { id });
        await expect(importJob(second, join(files, "job.zip"))).rejects.toThrow(
          /belongs to another job here; nothing was written/,
        );
        expect(filesBesideDatabase(dir)).toEqual([]);
        expect(await second.list()).toHaveLength(1);
      });
    }),
  ));

test("importing a missing file says so", () =>
  withStore(async (store) => {
    await expect(importJob(store, "/no/such/file.zip")).rejects.toMatchObject({ code: "bad-input" });
    expect(existsSync("/no")).toBe(false);
  }));
