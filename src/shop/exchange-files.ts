import { createHash } from "node:crypto";
import { existsSync } from "node:fs";
import { open, rename, rm } from "node:fs/promises";
import { captureFile } from "../capture/capture-files.ts";
import { attachmentPath, keepBytes, syncFolder } from "../job/store/attachment-store.ts";
import type { RecordFile } from "../job/store/local-set.ts";
import type { ExchangeOptions } from "./exchange.ts";
import { inLanes } from "./in-lanes.ts";
import type { HeldFile, ShopDatabase } from "./shop-database.ts";

/** Files that are asked about at once. */
const AT_ONCE = 500;
/** Files that are on their way at once: most of the time for one is spent waiting for a disk here or there. */
const LANES = 4;

/** Sends the files that the shop's database lacks; answers how many. */
export async function sendFiles(options: ExchangeOptions): Promise<number> {
  const { store, database, onTrouble, isOver } = options;
  const unsent = await store.set.unsent();
  let sent = 0;
  for (let from = 0; from < unsent.length && isOver?.() !== true; from += AT_ONCE) {
    const part = unsent.slice(from, from + AT_ONCE);
    const held = await heldOf(database, part);
    // Not noted one by one: each note is a write to the disk. What is sent and not noted is found there the next time.
    const unmarked = part.filter(({ id }) => held.has(id));
    const send = async (file: RecordFile): Promise<void> => {
      const problem =
        file.kind === "capture" ? await sendCapture(options, file.id) : await sendAttachment(options, file.id);
      if (problem !== null) onTrouble?.(problem);
      unmarked.push(file);
      sent++;
    };
    try {
      await inLanes(
        part.filter(({ id }) => !held.has(id)),
        LANES,
        send,
        isOver,
      );
    } finally {
      await store.set.markSent(unmarked);
    }
  }
  return sent;
}

async function sendCapture({ store, database }: ExchangeOptions, id: string): Promise<null> {
  const path = captureFile(store.captureDir, id);
  const { state } = await store.findCapture(id);
  // A run that was killed before its first reading left no file, and that is how it is elsewhere too.
  await database.putCapture(id, state === "open" ? "recovered" : state, existsSync(path) ? path : null);
  return null;
}

/** Answers a sentence where there is nothing to send. */
async function sendAttachment({ store, database }: ExchangeOptions, sha256: string): Promise<string | null> {
  const path = attachmentPath(store.dir, sha256);
  const kept = await store.attachment(sha256);
  if (kept === null || !existsSync(path))
    return `The attachment ${sha256} is missing from ${store.dir}; it is not sent`;
  await database.putAttachment(kept, path);
  return null;
}

/** Brings the files that events of other benches name, as far as the shop's database has them whole; answers how many. */
export async function fetchFiles(options: ExchangeOptions): Promise<number> {
  const { store, database, isOver } = options;
  const missing = await store.set.missing();
  let fetched = 0;
  for (let from = 0; from < missing.length; from += AT_ONCE) {
    const part = missing.slice(from, from + AT_ONCE);
    const captures = await database.captures(idsOf(part, "capture"));
    const fetchOne = async (file: HeldFile): Promise<void> => {
      if (await fetchCapture(options, file)) fetched++;
    };
    await inLanes(captures, LANES, fetchOne, isOver);
    if (isOver?.() === true) return fetched;
    for (const kept of await database.attachments(idsOf(part, "attachment"))) {
      if (isOver?.() === true) return fetched;
      const file = await keepBytes(store.dir, database.pieces(kept.sha256), `attachment ${kept.sha256}`);
      if (file.sha256 !== kept.sha256) {
        options.onTrouble?.(`The attachment ${kept.sha256} is damaged in the shop's database; it is not imported`);
        continue;
      }
      await store.set.addAttachment(kept);
      fetched++;
    }
  }
  return fetched;
}

async function fetchCapture(
  { store, database, onTrouble }: ExchangeOptions,
  { id, sha256, state }: HeldFile,
): Promise<boolean> {
  if (sha256 !== null) {
    const target = captureFile(store.captureDir, id);
    const making = `${target}.coming`;
    const hash = createHash("sha256");
    const file = await open(making, "w", 0o600);
    try {
      for await (const piece of database.pieces(sha256)) {
        hash.update(piece);
        await file.write(piece);
      }
      await file.sync();
    } finally {
      await file.close();
    }
    if (hash.digest("hex") !== sha256) {
      await rm(making, { force: true });
      onTrouble?.(`The readings of capture ${id} are damaged in the shop's database; they are not imported`);
      return false;
    }
    await rename(making, target);
    await syncFolder(store.captureDir);
  }
  await store.set.endForeign(id, state);
  return true;
}

async function heldOf(database: ShopDatabase, files: readonly RecordFile[]): Promise<Set<string>> {
  const captures = await database.captures(idsOf(files, "capture"));
  const attachments = await database.attachments(idsOf(files, "attachment"));
  return new Set([...captures.map(({ id }) => id), ...attachments.map(({ sha256 }) => sha256)]);
}

const idsOf = (files: readonly RecordFile[], kind: RecordFile["kind"]): string[] =>
  files.filter((file) => file.kind === kind).map((file) => file.id);
