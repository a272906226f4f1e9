import { mkdtempSync, writeFileSync } from "node:fs";
import { rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import path from "node:path";
import type { JobStore } from "../../src/job/store/job-store.ts";
import { type OpenJobStoreOptions, openJobStore } from "../../src/job/store/open-job-store.ts";
import { exchangeOnce } from "../../src/shop/exchange.ts";
import { openShopDatabase, type ShopDatabase } from "../../src/shop/shop-database.ts";

/** A bench of a shop: a record of its own in a folder of its own, and the shop's database as it reaches it. */
export interface TestBench {
  readonly name: string;
  readonly dir: string;
  readonly store: JobStore;
  readonly database: ShopDatabase;
  readonly troubles: string[];
  exchange(isOver?: () => boolean): Promise<unknown>;
  /** Closes the record, as the end of the program does. */
  stop(): Promise<void>;
  /** Opens it again, as the next start does. */
  restart(options?: OpenJobStoreOptions): Promise<void>;
  close(): Promise<void>;
}

const SHOP = { shop: "tern-street" };

/** The settings of a bench of the shop. */
export const settingsOf = (bench: string, url: string, live?: string) => ({
  version: 1,
  shared: { ...SHOP, bench, record: url, ...(live === undefined ? {} : { live }) },
});

export async function testBench(
  name: string,
  url: string,
  {
    dir = mkdtempSync(path.join(tmpdir(), `firstamp-${name}-`)),
    ...options
  }: OpenJobStoreOptions & { dir?: string } = {},
): Promise<TestBench> {
  writeFileSync(path.join(dir, "shop.json"), JSON.stringify(settingsOf(name, url)));
  const open = (more: OpenJobStoreOptions = {}) => openJobStore(dir, { ballastBytes: 0, ...options, ...more });
  let store = await open();
  const database = openShopDatabase(url, { connectMs: 30_000 });
  const troubles: string[] = [];
  return {
    name,
    dir,
    get store() {
      return store;
    },
    database,
    troubles,
    exchange: (isOver) =>
      exchangeOnce({
        store,
        database,
        onTrouble: (sentence) => troubles.push(sentence),
        ...(isOver === undefined ? {} : { isOver }),
      }),
    stop: () => store.close(),
    async restart(more) {
      store = await open(more);
    },
    async close() {
      await store.close();
      await database.close();
      await rm(dir, { recursive: true, force: true });
    },
  };
}

/** Everything a bench's record holds, as it can be compared with another's: jobs, and their events in order with their texts. */
export async function contentOf(store: JobStore) {
  const jobs = await store.list();
  return await Promise.all(
    jobs.map(async ({ job }) => {
      const { events, captures, attachments } = await store.jobRows(job);
      return { job, events, captures, attachments };
    }),
  );
}

/** Exchanges in rounds until no bench has anything new, which takes each of them twice. */
export async function settle(benches: readonly TestBench[]): Promise<void> {
  for (let round = 0; round < 2; round++) for (const each of benches) await each.exchange();
}

export const note = (text: string) => ({ kind: "note", text }) as const;

/** The texts of the notes of a job, in order. */
export const textsOf = async (store: JobStore, job: string): Promise<string[]> =>
  (await store.events(job)).flatMap(({ event }) => (event.kind === "note" ? [event.text] : []));

/** The texts "0", "1" and so on. */
export const numbered = (count: number): string[] => Array.from({ length: count }, (_, index) => String(index));
