import type { JobStore } from "../job/store/job-store.ts";
import type { Waiting } from "../job/store/local-set.ts";
import { exchangeOnce } from "./exchange.ts";
import { openShopDatabase, type ShopDatabase } from "./shop-database.ts";
import { whyAway } from "./shop-trouble.ts";

/** The state of the exchange with the shop's database. */
export interface ExchangeStatus {
  /** null until the first attempt has ended. */
  reachable: boolean | null;
  /** Why it is not reachable, in words. */
  because: string | null;
  /** Wall clock of the last exchange that came to its end. */
  lastAt: string | null;
  waiting: Waiting;
}

export interface BackgroundExchange {
  status(): Promise<ExchangeStatus>;
  /** Sends what is left where the database was there; what waits still is sent at the next start. */
  close(): Promise<void>;
}

export interface BackgroundOptions {
  store: JobStore;
  /** Connection string of the shop's database. */
  url: string;
  onTrouble: (sentence: string) => void;
  /** Between two exchanges, and the longest pause while the database is away, milliseconds. Defaults 2 s and 60 s. */
  everyMs?: number;
  longestMs?: number;
}

/** At the end of a command the bench is done with; a database that hangs then holds nobody up for longer. */
const LAST_WORD_MS = 3000;

/**
 * Exchanges with the shop's database beside whatever else this process does, and again when it was away. It waits for the
 * database and nothing waits for it.
 */
export function exchangeInBackground(options: BackgroundOptions): BackgroundExchange {
  const { store, url, onTrouble, everyMs = 2000, longestMs = 60_000 } = options;
  const database: ShopDatabase = openShopDatabase(url, { connections: 2 });
  const told = new Set<string>();
  let reachable: boolean | null = null;
  let because: string | null = null;
  let lastAt: string | null = null;
  let closing = false;
  let given = false;
  let wake: () => void = () => undefined;

  const tellOnce = (sentence: string): void => {
    if (told.has(sentence) || told.size > 100) return;
    told.add(sentence);
    onTrouble(sentence);
  };
  const pause = (ms: number) =>
    new Promise<void>((resolve) => {
      const timer = setTimeout(resolve, ms);
      timer.unref();
      wake = () => {
        clearTimeout(timer);
        resolve();
      };
    });

  const loop = (async () => {
    let failures = 0;
    for (let isLast = false; !isLast; ) {
      isLast = closing;
      try {
        await exchangeOnce({ store, database, onTrouble: tellOnce, isOver: () => given });
        failures = 0;
        reachable = true;
        because = null;
        lastAt = new Date().toISOString();
        told.clear();
      } catch (cause) {
        failures++;
        reachable = false;
        because = whyAway(cause);
        tellOnce(`The shop's database cannot be used now: ${because}. What is filed here waits and is sent later.`);
      }
      if (closing && (reachable === false || isLast)) return;
      if (!closing) await pause(Math.min(longestMs, everyMs * 2 ** Math.min(failures, 10)));
    }
  })();

  return {
    status: async () => ({ reachable, because, lastAt, waiting: await store.set.waiting() }),
    async close() {
      closing = true;
      wake();
      let late: NodeJS.Timeout | undefined;
      const tooLate = new Promise<void>((resolve) => {
        late = setTimeout(() => {
          given = true;
          resolve();
        }, LAST_WORD_MS);
      });
      // A connection that hangs is left to the end of the process.
      const ended = loop.then(() => database.close()).catch(() => undefined);
      await Promise.race([ended, tooLate]);
      clearTimeout(late);
    },
  };
}
