import type { SharedShop } from "../../../shared/files/shop-settings.ts";
import { hasJobStore } from "../../job/database/database-path.ts";
import type { Waiting } from "../../job/store/local-set.ts";
import { benchOf } from "../../job/store/stamp.ts";
import { type LiveWatcher, watchLive } from "../../shop/live-watcher.ts";
import { openShopDatabase, type ShopBench } from "../../shop/shop-database.ts";
import { whyAway } from "../../shop/shop-trouble.ts";
import { dataDirectory } from "../input/data-directory.ts";
import { lookingAtRecord } from "../record/with-record.ts";
import { shopOf } from "./shop-settings-of.ts";

export interface CheckedShop {
  shop: string;
  bench: string;
  /** null: the settings name no database. `waiting` counts events and files, `since` when the oldest event was filed. */
  record: { reachable: boolean; because: string | null; waiting: number; since: string | null } | null;
  /** null: the settings name no broker. */
  live: { reachable: boolean; because: string | null; ignored: number } | null;
  benches: CheckedBench[];
}

export interface CheckedBench {
  bench: string;
  /** Whether the shop's database knows it; false for a name that only the broker told. */
  inRecord: boolean;
  events: number;
  lastEventAt: string | null;
  /** Its live state; null where the broker told nothing. */
  live: { is: "here" | "gone"; output: string | null; ageMs: number | null } | null;
}

const NOTHING: Waiting = { events: 0, files: 0, since: null };
/** Kept messages of the broker come at once; other benches say that they are there every few seconds. */
const LISTEN_MS = 300;

/** Looks at the shop of the bench with this data directory. Throws BenchError "bad-input" where it belongs to none. */
export async function checkShop(data: string | undefined): Promise<CheckedShop> {
  const dir = dataDirectory(data);
  const shop = await shopOf(dir);
  const waiting = hasJobStore(dir) ? await lookingAtRecord(data, (store) => store.set.waiting()) : NOTHING;
  const [record, live] = await Promise.all([askRecord(shop), askLive(shop)]);
  return {
    shop: shop.shop,
    bench: shop.bench,
    record:
      record === null
        ? null
        : {
            reachable: record.because === null,
            because: record.because,
            waiting: waiting.events + waiting.files,
            since: waiting.since,
          },
    live: live === null ? null : { ...live.connection, ignored: live.ignored },
    benches: benchesOf(record?.benches ?? [], live?.benches ?? []),
  };
}

async function askRecord({
  record: url,
}: SharedShop): Promise<{ because: string | null; benches: ShopBench[] } | null> {
  if (url === undefined) return null;
  const database = openShopDatabase(url, { connections: 1, statementMs: 10_000 });
  try {
    return { because: null, benches: await database.benches() };
  } catch (cause) {
    return { because: whyAway(cause), benches: [] };
  } finally {
    await database.close().catch(() => undefined);
  }
}

async function askLive(shop: SharedShop) {
  const { live } = shop;
  if (live === undefined) return null;
  let watcher: LiveWatcher;
  try {
    watcher = watchLive({ shop: { ...shop, live } });
  } catch (cause) {
    return { connection: { reachable: false, because: whyAway(cause) }, ignored: 0, benches: [] };
  }
  try {
    await watcher.tried;
    if (watcher.connection.reachable) await new Promise((resolve) => setTimeout(resolve, LISTEN_MS));
    return { connection: { ...watcher.connection }, ignored: watcher.ignored, benches: watcher.benches() };
  } finally {
    await watcher.close();
  }
}

/** A bench that was named anew, or whose record was put back, files under several origins and is still one bench. */
function benchesOf(
  recorded: readonly ShopBench[],
  live: ReturnType<ReturnType<typeof watchLive>["benches"]>,
): CheckedBench[] {
  const benches = new Map<string, CheckedBench>();
  const named = (bench: string): CheckedBench => {
    const known = benches.get(bench) ?? { bench, inRecord: false, events: 0, lastEventAt: null, live: null };
    benches.set(bench, known);
    return known;
  };
  for (const { origin, events, lastEventAt } of recorded) {
    const each = named(benchOf(origin) ?? origin);
    each.inRecord = true;
    each.events += events;
    if (lastEventAt !== null && (each.lastEventAt ?? "") < lastEventAt) each.lastEventAt = lastEventAt;
  }
  for (const { bench, state } of live) {
    named(bench).live =
      state === null ? null : { is: state.is, output: state.is === "here" ? state.output : null, ageMs: state.ageMs };
  }
  return [...benches.values()].sort((a, b) => (a.bench < b.bench ? -1 : 1));
}
