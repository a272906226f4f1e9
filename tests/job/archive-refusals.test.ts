import { createHash } from "node:crypto";
import { readdirSync, readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { deflateRawSync } from "node:zlib";
import fc from "fast-check";
import { zipSync } from "fflate";
import { expect, test } from "vitest";
import type { JobEvent } from "../../shared/record/job.ts";
import { packedChunkBytes } from "../../src/capture/chunk-format.ts";
import { exportJob } from "../../src/job/archive/export-job.ts";
import { importJob } from "../../src/job/archive/import-job.ts";
import { localHeader, zipCrc, zipTail } from "../../src/job/archive/stored-zip.ts";
import { uuidV7 } from "../../src/job/store/uuid-v7.ts";
import { filesBesideDatabase, fullJob } from "./full-job.ts";
import { sampleHeader, withFolder, withStore } from "./sample-job.ts";

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
/** An archive of one run whose capture has these bytes. */
const archiveOfCapture = (chunks: string | Uint8Array): Buffer =>
  archiveOf(
    [
      ["events.jsonl", OPENED + started],
      [`captures/${header.capture}.chunks`, chunks],
    ],
    head({ captures: [capture] }),
  );

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
      return archiveOfCapture(chunk);
    },
    /is not a reading/,
  ],
  [
    "a packed chunk that unpacks to a hundred megabytes",
    () => {
      const bomb = deflateRawSync(Buffer.alloc(100 * 1024 * 1024));
      const chunk = packedChunkBytes({ capture: header.capture, seq: 0, through: 0 }, new Array(8192), bomb);
      return archiveOfCapture(chunk);
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
      expect(filesBesideDatabase(dir)).toEqual([]);
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
                expect(filesBesideDatabase(dir)).toEqual([]);
              },
            ),
            { numRuns: 150 },
          ),
        );
      }),
    ),
  120_000,
);
