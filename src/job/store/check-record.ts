import { createHash } from "node:crypto";
import { createReadStream } from "node:fs";
import { messageOf } from "../../../shared/words/message-of.ts";
import { type CaptureNotes, captureBytes, storedReadings } from "../../capture/read-capture.ts";
import { databasePath } from "../database/database-path.ts";
import { sqliteFileProblems } from "../database/sqlite-file.ts";
import { attachmentPath } from "./attachment-store.ts";
import type { JobStore } from "./job-store.ts";
import { UNREADABLE } from "./stored-form.ts";

export interface RecordCheck {
  jobs: number;
  events: number;
  captures: number;
  attachments: number;
  /** The problems, a sentence each; empty where all of it is sound. */
  problems: string[];
}

/**
 * Reads the whole record and says what of it is damaged: the database by SQLite's own check, each event, each capture's sums,
 * each attachment's hash. Changes nothing. Throws as the store does where the record cannot be opened at all.
 */
export async function checkRecord(store: JobStore): Promise<RecordCheck> {
  const check: RecordCheck = {
    jobs: 0,
    events: 0,
    captures: 0,
    attachments: 0,
    problems: sqliteFileProblems(databasePath(store.dir)).map((each) => `the database: ${each}`),
  };
  const hashes = new Set<string>();
  for (const { job, short } of await store.list()) {
    check.jobs += 1;
    const record = await store.show(job);
    for (const { seq, event } of record.log) {
      check.events += 1;
      if (event.kind === "note" && event.text.startsWith(UNREADABLE))
        check.problems.push(`job ${short}, event ${seq}: it cannot be read`);
      const said = event.kind === "correction" ? event.event : event;
      if (said.kind === "attachment") hashes.add(said.sha256);
    }
    for (const { id } of record.captures) {
      check.captures += 1;
      check.problems.push(...(await captureProblems(store, id)).map((each) => `job ${short}, capture ${id}: ${each}`));
    }
  }
  for (const sha256 of hashes) {
    check.attachments += 1;
    const problem = await attachmentProblem(store.dir, sha256);
    if (problem !== null) check.problems.push(`attachment ${sha256}: ${problem}`);
  }
  return check;
}

async function captureProblems(store: JobStore, id: string): Promise<string[]> {
  try {
    const notes: CaptureNotes = { closed: "open", gaps: [] };
    // One by one: a day of readings has no room in memory.
    for (const _ of storedReadings(await captureBytes(store.captureDir, id), id, notes));
    return notes.gaps.map((gap) => `a gap after ${gap.afterMs ?? 0} ms: ${gap.because}`);
  } catch (cause) {
    return [messageOf(cause)];
  }
}

/** The problem with the bytes of an attachment in a data directory, as a sentence; null where they are what was filed. */
export async function attachmentProblem(dir: string, sha256: string): Promise<string | null> {
  const hash = createHash("sha256");
  try {
    for await (const piece of createReadStream(attachmentPath(dir, sha256))) hash.update(piece as Buffer);
  } catch (cause) {
    return messageOf(cause);
  }
  return hash.digest("hex") === sha256 ? null : "its content differs from what was filed";
}
