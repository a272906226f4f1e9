import { readFile } from "node:fs/promises";
import type { StoredEvent } from "../../../shared/record/job.ts";
import { attachmentPath } from "../store/attachment-store.ts";
import { eventsOf } from "../store/current-events.ts";
import type { JobStore } from "../store/job-store.ts";

/** As many good boards are looked at; more tell little that is new. */
const MOST_JOBS = 20;

/** Other dumps of this board since its last repair. */
export async function sameBoardImages(
  store: JobStore,
  log: readonly StoredEvent[],
  sha256: string,
): Promise<Uint8Array[]> {
  const repaired = log.findLastIndex(({ event }) => event.kind === "repair");
  const hashes = new Set(eventsOf(log.slice(repaired + 1), "firmware").map((each) => each.attachment));
  hashes.delete(sha256);
  return await imagesOf(store, [...hashes]);
}

/** The last image of each board of this kind that passed and was not taken back, newest first. */
export async function goodImages(
  store: JobStore,
  board: string,
  { apartFrom }: { apartFrom: string },
): Promise<Uint8Array[]> {
  const hashes = new Set<string>();
  for (const job of await store.everPassed(board, MOST_JOBS)) {
    if (job === apartFrom) continue;
    const log = await store.events(job);
    if (eventsOf(log, "result").at(-1)?.result !== "passed") continue;
    const last = eventsOf(log, "firmware").at(-1);
    if (last !== undefined && last.image.blank === null) hashes.add(last.attachment);
  }
  return await imagesOf(store, [...hashes]);
}

async function imagesOf(store: JobStore, hashes: readonly string[]): Promise<Uint8Array[]> {
  const read = await Promise.all(hashes.map((each) => readFile(attachmentPath(store.dir, each)).catch(() => null)));
  return read.filter((each) => each !== null);
}
