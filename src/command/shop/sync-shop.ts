import { BenchError } from "../../../shared/bench-error.ts";
import type { JobStore } from "../../job/store/job-store.ts";
import type { Waiting } from "../../job/store/local-set.ts";
import { exchangeOnce, LARGE_BATCH } from "../../shop/exchange.ts";
import { openShopDatabase } from "../../shop/shop-database.ts";
import { whyAway } from "../../shop/shop-trouble.ts";
import { dataDirectory } from "../input/data-directory.ts";
import { lookingAtRecord, withRecord } from "../record/with-record.ts";
import { shopOf } from "./shop-settings-of.ts";

export interface SyncedShop {
  sent: number;
  received: number;
  waiting: Waiting;
  /** Why something waits still; null where nothing kept it. */
  because: string | null;
}

/** The interval of looks at the record of another process, and the number of looks without progress. */
const LOOK_MS = 1000;
const MOST_LOOKS = 30;

/**
 * Exchanges until nothing waits. Where another process owns the record it exchanges by itself, and is waited for as long as
 * that gets on. Throws BenchError "bad-input" for a bench that belongs to no shop.
 */
export async function syncShop(data: string | undefined, say: (sentence: string) => void): Promise<SyncedShop> {
  const { record: url } = await shopOf(dataDirectory(data));
  if (url === undefined) throw new BenchError("bad-input", '"shared" in shop.json has no "record" to exchange with');
  const database = openShopDatabase(url);
  try {
    const exchange = async (store: JobStore): Promise<SyncedShop> => {
      try {
        return { ...(await exchangeOnce({ store, database, batch: LARGE_BATCH, onTrouble: say })), because: null };
      } catch (cause) {
        return { sent: 0, received: 0, waiting: await store.set.waiting(), because: whyAway(cause) };
      }
    };
    // The record files one batch while the next is fetched and read.
    return await withRecord(data, exchange, { aside: true });
  } catch (cause) {
    if (!(cause instanceof BenchError) || cause.code !== "data-in-use") throw cause;
  } finally {
    await database.close();
  }
  say("Another firstamp has the record open and does the exchange; waiting for it.");
  return await waitForOwner(data);
}

async function waitForOwner(data: string | undefined): Promise<SyncedShop> {
  const look = () => lookingAtRecord(data, (store) => store.set.waiting());
  let waiting = await look();
  for (let looks = 0; looks < MOST_LOOKS && waiting.events + waiting.files > 0; looks++) {
    await new Promise((resolve) => setTimeout(resolve, LOOK_MS));
    const now = await look();
    if (now.events + now.files < waiting.events + waiting.files) looks = 0;
    waiting = now;
  }
  const because = waiting.events + waiting.files === 0 ? null : "the other firstamp makes no progress with it";
  return { sent: 0, received: 0, waiting, because };
}
