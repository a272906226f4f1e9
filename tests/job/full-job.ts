import { readdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import type { JobStore } from "../../src/job/store/job-store.ts";
import { fileRun } from "./sample-job.ts";

/** A job with a bit of filesBesideDatabase. */
export async function fullJob(store: JobStore, files: string): Promise<string> {
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

/** The files that a record keeps beside its database, and what an import has not finished. */
export const filesBesideDatabase = (dir: string): string[] =>
  readdirSync(dir, { recursive: true, withFileTypes: true })
    .filter((each) => each.isFile() && /captures|attachments|importing/.test(each.parentPath))
    .map((each) => join(each.parentPath, each.name))
    .sort();
