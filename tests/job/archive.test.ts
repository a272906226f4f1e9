import { execFileSync } from "node:child_process";
import { createHash } from "node:crypto";
import { existsSync, readdirSync, readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { deflateRawSync } from "node:zlib";
import fc from "fast-check";
import { unzipSync, zipSync } from "fflate";
import { expect, test } from "vitest";
import type { JobEvent } from "../../shared/record/job.ts";
import { captureFile } from "../../src/capture/capture-files.ts";
import { packedChunkBytes } from "../../src/capture/chunk-format.ts";
import { exportJob } from "../../src/job/archive/export-job.ts";
import { importJob } from "../../src/job/archive/import-job.ts";
import { localHeader, zipCrc, zipTail } from "../../src/job/archive/stored-zip.ts";
import type { JobStore } from "../../src/job/store/job-store.ts";
import { openJobStore } from "../../src/job/store/open-job-store.ts";
import { uuidV7 } from "../../src/job/store/uuid-v7.ts";
import { fileRun, sampleHeader, withFolder, withStore } from "./sample-job.ts";

/** A job with a bit of everything. */
async function fullJob(store: JobStore, files: string): Promise<string> {
  const job = await store.newJob({ title: "K2 <b> & Ω", board: "Kestrel K2" });
  const photo = join(files, "photo.png");
  writeFileSync(photo, Buffer.concat([Buffer.from("89504e470d0a1a0a", "hex"), Buffer.alloc(70_000, 3)]));
  await store.attach(job, photo);
  const note = await store.appendEvent(job, { kind: "note", text: "first\r\nsecond \u0000" });
  await store.appendEvent(job, {
    kind: "correction",
    of: note.id,
    because: "typed wrongly",
    event: { kind: "note", text: "right" },
  });
  await fileRun(store, job);
  await fileRun(store, job, { amps: Array.from({ length: 3000 }, (_, index) => 0.8 + (index % 7) / 1000) });
  return job;
}

const everything = (dir: string): string[] =>
  readdirSync(dir, { recursive: true, withFileTypes: true })
    .filter((each) => each.isFile() && /captures|attachments|importing/.test(each.parentPath))
    .map((each) => join(each.parentPath, each.name))
    .sort();

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
        const before = [await second.show(job), everything(dir)];
        expect(await importJob(second, one)).toEqual({ job, done: "same" });
        await expect(importJob(second, two)).rejects.toThrow(/here already and differs/);
        expect([await second.show(job), everything(dir)]).toEqual(before);
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

/** An archive of our form with other contents: the list of files is made to fit them. */
function archiveOf(
  contents: [name: string, text: string | Uint8Array][],
  manifest: (files: object[]) => object | string,
): Buffer {
  const files = contents.map(([name, content]) => ({
    name,
    bytes: Buffer.byteLength(content),
    sha256: createHash("sha256").update(content).digest("hex"),
  }));
  const head = manifest(files);
  const text = typeof head === "string" ? head : `${JSON.stringify(head, null, 1)}\n`;
  return packed([["job.json", text], ...contents]);
}

function packed(contents: [name: string, text: string | Uint8Array][]): Buffer {
  const parts = contents.map(([name, content]) => {
    const bytes = Buffer.from(content as string);
    return { name, bytes: bytes.length, crc: zipCrc(bytes), content: bytes };
  });
  return Buffer.concat([...parts.flatMap((part) => [localHeader(part), part.content]), zipTail(parts)]);
}

const JOB = uuidV7();
const line = (seq: number, event: JobEvent, id = uuidV7()) =>
  `${JSON.stringify({ id, seq, recordedAt: "2026-11-25T08:00:00.000Z", event })}\n`;
const OPENED = line(1, { kind: "opened", title: null, board: null });
const head =
  (changes: object = {}) =>
  (files: object[]) => ({
    format: "firstamp-job",
    version: 1,
    job: { id: JOB, createdAt: "2026-11-25T08:00:00.000Z" },
    captures: [],
    attachments: [],
    files,
    ...changes,
  });
const header = sampleHeader();
const started = line(2, { kind: "run-started", header });
const capture = { id: header.capture, run: header.run, state: "closed" };
const twin = uuidV7();

test("the archives made here for the refusals below are taken in when nothing is wrong with them", () =>
  withFolder((files) =>
    withStore(async (store) => {
      writeFileSync(
        join(files, "good.zip"),
        archiveOf([["events.jsonl", OPENED + started]], head({ captures: [capture] })),
      );
      expect(await importJob(store, join(files, "good.zip"))).toMatchObject({ job: JOB, done: "imported" });
    }),
  ));

test.each<[string, () => Buffer, RegExp]>([
  ["an empty file", () => Buffer.alloc(0), /not a job archive/],
  ["a text", () => Buffer.from("hello ".repeat(100)), /not a job archive/],
  ["a zip by another program", () => Buffer.from(zipSync({ "job.json": Buffer.from("{}") })), /not a job archive/],
  [
    "a zip that would unpack to a gigabyte",
    () => Buffer.from(zipSync({ "events.jsonl": Buffer.alloc(1024 * 1024 * 64) }, { level: 9 })),
    /not a job archive/,
  ],
  [
    "a path out of the folder",
    () =>
      archiveOf(
        [
          ["../../evil", "x"],
          ["events.jsonl", OPENED],
        ],
        head(),
      ),
    /"..\/..\/evil" does not belong/,
  ],
  [
    "an absolute path",
    () =>
      archiveOf(
        [
          ["/etc/passwd", "x"],
          ["events.jsonl", OPENED],
        ],
        head(),
      ),
    /does not belong/,
  ],
  [
    "a path out of the captures",
    () =>
      archiveOf(
        [
          ["events.jsonl", OPENED + started],
          [`captures/../${header.capture}.chunks`, "x"],
        ],
        head({ captures: [capture] }),
      ),
    /does not belong/,
  ],
  [
    "a capture of no run",
    () => archiveOf([["events.jsonl", OPENED]], head({ captures: [capture] })),
    /belongs to no run/,
  ],
  [
    "a capture file of no capture",
    () =>
      archiveOf(
        [
          ["events.jsonl", OPENED],
          [`captures/${header.capture}.chunks`, "x"],
        ],
        head(),
      ),
    /does not belong/,
  ],
  [
    "a capture with readings that are none",
    () => {
      const payload = Buffer.from('[["aux",0,0,"evil",{},"cv",1,0]]\n');
      const sum = zipCrc(payload, zipCrc(Buffer.from(`${header.capture} 0 `)));
      const chunk = `chunk ${JSON.stringify({ capture: header.capture, seq: 0, t0: 0, n: 1, bytes: payload.length, crc32: sum, closed: false })}\n${payload}`;
      return archiveOf(
        [
          ["events.jsonl", OPENED + started],
          [`captures/${header.capture}.chunks`, chunk],
        ],
        head({ captures: [capture] }),
      );
    },
    /is not a reading/,
  ],
  [
    "a packed chunk that unpacks to a hundred megabytes",
    () => {
      const bomb = deflateRawSync(Buffer.alloc(100 * 1024 * 1024));
      const chunk = packedChunkBytes({ capture: header.capture, seq: 0, through: 0 }, new Array(8192), bomb);
      return archiveOf(
        [
          ["events.jsonl", OPENED + started],
          [`captures/${header.capture}.chunks`, chunk],
        ],
        head({ captures: [capture] }),
      );
    },
    /is not a reading/,
  ],
  [
    "the same name twice",
    () =>
      packed([
        ["job.json", "{}"],
        ["job.json", "{}"],
      ]),
    /"job.json" twice/,
  ],
  ["no list of files", () => packed([["events.jsonl", OPENED]]), /job.json is missing/],
  ["a list that is no JSON", () => archiveOf([["events.jsonl", OPENED]], () => "{"), /job.json is not JSON/],
  [
    "a list with more than it should hold",
    () => archiveOf([["events.jsonl", OPENED]], head({ extra: 1 })),
    /job.json has a wrong form/,
  ],
  [
    "a file that is not listed",
    () => archiveOf([["events.jsonl", OPENED]], (files) => head()(files.slice(1))),
    /list of files does not match its content/,
  ],
  [
    "a form that its events are not of",
    () => archiveOf([["events.jsonl", OPENED]], head({ version: 2 })),
    /claims form 2/,
  ],
  ["a newer form", () => archiveOf([["events.jsonl", OPENED]], head({ version: 3 })), /newer firstamp \(form 3\)/],
  [
    "a wrong hash",
    () =>
      archiveOf([["events.jsonl", OPENED]], (files) =>
        head()(files.map((each) => ({ ...each, sha256: "0".repeat(64) }))),
      ),
    /does not match the list of files/,
  ],
  ["no events", () => archiveOf([["events.jsonl", ""]], head()), /line end/],
  [
    "an event that is none",
    () => archiveOf([["events.jsonl", OPENED + line(2, { kind: "dance" } as unknown as JobEvent)]], head()),
    /line 2 .* is not an event this program knows/,
  ],
  [
    "an event left out",
    () => archiveOf([["events.jsonl", OPENED + line(3, { kind: "note", text: "" })]], head()),
    /an event is missing/,
  ],
  [
    "an event twice",
    () =>
      archiveOf(
        [
          [
            "events.jsonl",
            line(1, { kind: "opened", title: null, board: null }, twin) + line(2, { kind: "note", text: "" }, twin),
          ],
        ],
        head(),
      ),
    /there twice/,
  ],
  [
    "a first event that opens nothing",
    () => archiveOf([["events.jsonl", line(1, { kind: "note", text: "" })]], head()),
    /does not open the job/,
  ],
  [
    "an event with spaces put in",
    () => archiveOf([["events.jsonl", OPENED.replace("{", "{ ")]], head()),
    /not written the way this program writes it/,
  ],
  ["bytes that are no text", () => archiveOf([["events.jsonl", Buffer.from([0xff, 0xfe, 0x0a])]], head()), /not UTF-8/],
  [
    "an attachment of another type than it says",
    () => {
      const content = "<script>alert(1)</script>";
      const sha256 = createHash("sha256").update(content).digest("hex");
      const attached = {
        kind: "attachment",
        sha256,
        name: "a.png",
        mediaType: "image/png",
        bytes: content.length,
        caption: null,
      } as const;
      return archiveOf(
        [
          ["events.jsonl", OPENED + line(2, attached)],
          [`attachments/${sha256}`, content],
        ],
        head({ attachments: [{ sha256, bytes: content.length, mediaType: "image/png" }] }),
      );
    },
    /is not "image\/png"/,
  ],
  [
    "an attachment that is missing",
    () =>
      archiveOf(
        [["events.jsonl", OPENED]],
        head({ attachments: [{ sha256: "0".repeat(64), bytes: 1, mediaType: "image/png" }] }),
      ),
    /attachments.* is missing/,
  ],
  [
    "a correction of what the bench saw",
    () => {
      const id = uuidV7();
      const event = { kind: "correction", of: id, because: "", event: { kind: "note", text: "" } } as const;
      return archiveOf(
        [["events.jsonl", OPENED + line(2, { kind: "run-started", header }, id) + line(3, event)]],
        head(),
      );
    },
    /corrects nothing that can be corrected/,
  ],
])("%s is refused with a reason and nothing is written", (_what, bytes, reason) =>
  withFolder((files) =>
    withStore(async (store, dir) => {
      const path = join(files, "bad.zip");
      writeFileSync(path, bytes());
      await expect(importJob(store, path)).rejects.toMatchObject({
        code: "bad-input",
        message: expect.stringMatching(reason),
      });
      expect(await store.list()).toEqual([]);
      expect(everything(dir)).toEqual([]);
      expect(readdirSync(dir).filter((name) => name.startsWith("importing"))).toEqual([]);
    }),
  ),
);

test(
  "an archive with any one byte changed, cut or added is refused and nothing is written",
  () =>
    withFolder((files) =>
      withStore(async (first) => {
        const job = await fullJob(first, files);
        const path = join(files, "job.zip");
        await exportJob(first, job, path);
        const whole = readFileSync(path);
        const tail = whole.length - 1000;
        const bad = join(files, "bad.zip");
        await withStore((second, dir) =>
          fc.assert(
            fc.asyncProperty(
              // The directory at the end is small and all meaning, so half of the changes fall there.
              fc.oneof(fc.nat(whole.length - 1), fc.integer({ min: tail, max: whole.length - 1 })),
              fc.integer({ min: 1, max: 255 }),
              fc.constantFrom("change", "cut", "add"),
              async (at, by, how) => {
                const changed = Buffer.from(whole);
                changed[at] = ((whole[at] ?? 0) + by) & 0xff;
                writeFileSync(
                  bad,
                  how === "change"
                    ? changed
                    : how === "cut"
                      ? whole.subarray(0, at)
                      : Buffer.concat([whole.subarray(0, at), Buffer.from([by]), whole.subarray(at)]),
                );
                await expect(importJob(second, bad)).rejects.toMatchObject({ code: "bad-input" });
                expect(await second.list()).toEqual([]);
                expect(everything(dir)).toEqual([]);
              },
            ),
            { numRuns: 150 },
          ),
        );
      }),
    ),
  120_000,
);

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
        expect(everything(dir)).toEqual([]);
        expect(await second.list()).toHaveLength(1);
      });
    }),
  ));

test("importing a missing file says so", () =>
  withStore(async (store) => {
    await expect(importJob(store, "/no/such/file.zip")).rejects.toMatchObject({ code: "bad-input" });
    expect(existsSync("/no")).toBe(false);
  }));
