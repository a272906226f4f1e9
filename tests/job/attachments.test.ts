import { execFileSync } from "node:child_process";
import { createHash } from "node:crypto";
import { readdirSync, readFileSync, symlinkSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import fc from "fast-check";
import { expect, test } from "vitest";
import { attachmentPath, LARGEST_ATTACHMENT_BYTES } from "../../src/job/store/attachment-store.ts";
import { mediaTypeOf } from "../../src/job/store/media-type.ts";
import { safeName } from "../../src/job/store/safe-name.ts";
import { withFolder, withStore } from "./sample-job.ts";

// The smallest GIF and PNG heads as the formats' specifications give them.
const PNG = Buffer.from("89504e470d0a1a0a0000000d49484452", "hex");
const filesIn = (dir: string) =>
  readdirSync(join(dir, "attachments"), { recursive: true, withFileTypes: true }).filter((each) => each.isFile());

test("a file is kept under the SHA-256 of its bytes, once however often it is attached", () =>
  withFolder((files) =>
    withStore(async (store, dir) => {
      const job = await store.newJob();
      const file = join(files, "front side.png");
      writeFileSync(file, PNG);
      const first = await store.attach(job, file, { caption: "as it came in" });
      await store.attach(job, file);
      const sha256 = createHash("sha256").update(PNG).digest("hex");
      expect(first.event).toEqual({
        kind: "attachment",
        sha256,
        bytes: PNG.length,
        mediaType: "image/png",
        name: "front side.png",
        caption: "as it came in",
      });
      expect(readFileSync(attachmentPath(dir, sha256))).toEqual(PNG);
      expect(filesIn(dir)).toHaveLength(1);
      expect(await store.events(job)).toHaveLength(3);
    }),
  ));

test("bytes that come in under a name are kept as the file of that name is", () =>
  withStore(async (store, dir) => {
    const job = await store.newJob();
    const kept = await store.attachBytes(job, PNG, { name: "../front side.png", caption: "before" });
    const sha256 = createHash("sha256").update(PNG).digest("hex");
    expect(kept.event).toEqual({
      kind: "attachment",
      sha256,
      bytes: PNG.length,
      mediaType: "image/png",
      name: "front side.png",
      caption: "before",
    });
    expect(readFileSync(attachmentPath(dir, sha256))).toEqual(PNG);
  }));

test("20 MiB are kept, one byte more is refused and leaves nothing", () =>
  withFolder((files) =>
    withStore(async (store, dir) => {
      const job = await store.newJob();
      const file = join(files, "trace.bin");
      writeFileSync(file, Buffer.alloc(LARGEST_ATTACHMENT_BYTES + 1, 7));
      await expect(store.attach(job, file)).rejects.toThrow(/larger than 20 MiB/);
      expect(filesIn(dir)).toEqual([]);
      expect(await store.events(job)).toHaveLength(1);
      writeFileSync(file, Buffer.alloc(LARGEST_ATTACHMENT_BYTES, 7));
      await store.attach(job, file);
      expect(filesIn(dir)).toHaveLength(1);
    }),
  ));

test("what is no plain file is refused at once: a folder, a named pipe, a missing file, a link to nothing", () =>
  withFolder((files) =>
    withStore(async (store) => {
      const job = await store.newJob();
      execFileSync("mkfifo", [join(files, "pipe")]);
      symlinkSync(join(files, "nowhere"), join(files, "link"));
      await expect(store.attach(job, files)).rejects.toThrow(/not a plain file/);
      await expect(store.attach(job, join(files, "pipe"))).rejects.toThrow(/not a plain file/);
      await expect(store.attach(job, join(files, "missing"))).rejects.toThrow(/does not exist/);
      await expect(store.attach(job, join(files, "link"))).rejects.toThrow(/does not exist/);
      expect(await store.events(job)).toHaveLength(1);
    }),
  ));

test("an attachment event for bytes that are not kept is refused", () =>
  withStore(async (store) => {
    const job = await store.newJob();
    const event = {
      kind: "attachment",
      sha256: "0".repeat(64),
      name: "x",
      mediaType: "image/png",
      bytes: 1,
      caption: null,
    } as const;
    await expect(store.appendEvent(job, event)).rejects.toThrow(/not stored/);
  }));

test.each([
  ["image/png", PNG],
  ["image/jpeg", Buffer.from("ffd8ffe000104a464946", "hex")],
  ["image/gif", Buffer.from("GIF89a\x01\x00", "latin1")],
  ["image/webp", Buffer.from("RIFF\x24\x00\x00\x00WEBPVP8 ", "latin1")],
  ["application/pdf", Buffer.from("%PDF-1.7\n")],
  ["application/zip", Buffer.from("PK\x03\x04\x14\x00", "latin1")],
  ["text/plain", Buffer.from("time_s,volts,amps\r\n0,12,0.82\r\n")],
  ["text/plain", Buffer.from("Ω 𝄞").subarray(0, 5)],
  ["text/plain", Buffer.from("<!doctype html><script>alert(1)</script>")],
  ["text/plain", Buffer.from('<svg xmlns="http://www.w3.org/2000/svg" onload="alert(1)"/>')],
  ["application/octet-stream", Buffer.from([0, 1, 2, 3])],
  ["application/octet-stream", Buffer.from("text with \u001b[31m in it")],
  ["application/octet-stream", Buffer.from([0xff, 0xfe, 0x41])],
  ["application/octet-stream", Buffer.alloc(0)],
])("content is told as %s by its bytes, never its name", (mediaType, bytes) => {
  expect(mediaTypeOf(bytes)).toBe(mediaType);
});

test.each([
  ["/home/bench/photo.JPG", "photo.JPG"],
  ["C:\\Users\\bench\\photo.jpg", "photo.jpg"],
  ["../../etc/passwd", "passwd"],
  [".bashrc", "bashrc"],
  ["..", "file"],
  ["", "file"],
  ["a\u0000b\u001b[2Jc.png", "a_b_[2Jc.png"],
  ["invoice\u202egnp.exe", "invoice_gnp.exe"],
  ["con.txt", "_con.txt"],
  ['say "hi" <b>.png', "say _hi_ _b_.png"],
])("the name %j is kept as %j", (given, kept) => {
  expect(safeName(given)).toBe(kept);
});

test("any name becomes one that is short, printable and no path, and stays itself when made safe again", () => {
  fc.assert(
    fc.property(fc.string({ unit: "binary", maxLength: 400 }), (given) => {
      const name = safeName(given);
      expect(name.length).toBeGreaterThan(0);
      expect(name.length).toBeLessThanOrEqual(120);
      // biome-ignore lint/suspicious/noControlCharactersInRegex: they must not be there
      expect(name).not.toMatch(/[/\\\u0000-\u001f\u007f-\u009f\u202a-\u202e]|^\.|^\s/u);
      expect(safeName(name)).toBe(name);
    }),
    { numRuns: 500 },
  );
});
