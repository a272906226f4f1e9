import { existsSync } from "node:fs";
import path from "node:path";
import type { SharedShop } from "../../../shared/files/shop-settings.ts";
import type { WireDown } from "../../../shared/wire.ts";
import type { WireShop } from "../../../shared/wire-shop.ts";
import { messageOf } from "../../../shared/words/message-of.ts";
import type { JobStore } from "../../job/store/job-store.ts";
import { readShopSettings } from "../../job/store/shop-settings.ts";
import type { BackgroundExchange } from "../../shop/background-exchange.ts";
import type { LivePublisher } from "../../shop/live-publisher.ts";
import type { LiveWatcher } from "../../shop/live-watcher.ts";

/** The part of a bench in its shop while a command runs. */
export interface JoinedShop {
  /** False where this bench surely belongs to no shop: then nothing need be told. */
  readonly isMember: boolean;
  /** The messages to the page, for other benches to look at. */
  take(message: WireDown): void;
  /** The shop as a page shows it; null where this bench belongs to none. The first look begins to listen to the broker. */
  look(): Promise<WireShop | null>;
  /** Sends what is left where the database is there; holds nobody up for long where it is not. */
  close(): Promise<void>;
}

/**
 * Takes part in the shop beside what the command does, if the bench belongs to one. Nothing is waited for: the parts that
 * speak to servers are loaded and connected meanwhile, and a shop that is away is told by `onTrouble` and does no harm.
 */
export function joinShop(store: JobStore, onTrouble: (sentence: string) => void): JoinedShop {
  let shop: SharedShop | null = null;
  let exchange: BackgroundExchange | null = null;
  let live: LivePublisher | null = null;
  let watcher: LiveWatcher | null = null;
  /** Messages from before the connection was there: a run may begin in the same moment. */
  let early: WireDown[] = [];
  const joining = (async () => {
    const shared = (await readShopSettings(store.dir))?.shared;
    if (shared === undefined) return;
    shop = shared;
    if (shared.record !== undefined) {
      const { exchangeInBackground } = await import("../../shop/background-exchange.ts");
      exchange = exchangeInBackground({ store, url: shared.record, onTrouble });
    }
    if (shared.live !== undefined) {
      const { publishLive } = await import("../../shop/live-publisher.ts");
      const publisher = publishLive({ shop: { ...shared, live: shared.live } });
      live = publisher;
      for (const message of early) publisher.take(message);
    }
  })()
    .catch((cause: unknown) => onTrouble(messageOf(cause)))
    .finally(() => {
      early = [];
    });
  return {
    isMember: existsSync(path.join(store.dir, "shop.json")),
    take(message) {
      if (live !== null) live.take(message);
      else if (message.type === "run-state") early = [message];
    },
    async look() {
      await joining;
      if (shop === null) return null;
      const { live: broker } = shop;
      if (watcher === null && broker !== undefined) {
        const { watchLive } = await import("../../shop/live-watcher.ts");
        watcher ??= watchLive({ shop: { ...shop, live: broker } });
      }
      const { lookAtShop } = await import("./look-at-shop.ts");
      return await lookAtShop({ store, shared: shop, status: (await exchange?.status()) ?? null, watcher });
    },
    async close() {
      await joining;
      await Promise.all([live?.close(), exchange?.close(), watcher?.close()]);
    },
  };
}
