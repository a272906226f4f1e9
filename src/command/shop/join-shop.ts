import type { WireDown } from "../../../shared/wire.ts";
import type { JobStore } from "../../job/store/job-store.ts";
import { readShopSettings } from "../../job/store/shop-settings.ts";
import type { BackgroundExchange } from "../../shop/background-exchange.ts";
import type { LivePublisher } from "../../shop/live-publisher.ts";

/** The part of a bench in its shop while a command runs. */
export interface JoinedShop {
  /** What the page is told, for other benches to look at. */
  take(message: WireDown): void;
  /** Sends what is left where the database is there; holds nobody up for long where it is not. */
  close(): Promise<void>;
}

/**
 * Takes part in the shop beside what the command does, if the bench belongs to one. Nothing is waited for: the parts that
 * speak to servers are loaded and connected meanwhile, and a shop that is away is told by `onTrouble` and does no harm.
 */
export function joinShop(store: JobStore, onTrouble: (sentence: string) => void): JoinedShop {
  let exchange: BackgroundExchange | null = null;
  let live: LivePublisher | null = null;
  const joining = (async () => {
    const shared = (await readShopSettings(store.dir))?.shared;
    if (shared === undefined) return;
    if (shared.record !== undefined) {
      const { exchangeInBackground } = await import("../../shop/background-exchange.ts");
      exchange = exchangeInBackground({ store, url: shared.record, onTrouble });
    }
    if (shared.live !== undefined) {
      const { publishLive } = await import("../../shop/live-publisher.ts");
      live = publishLive({ shop: { ...shared, live: shared.live } });
    }
  })().catch((cause: unknown) => onTrouble(cause instanceof Error ? cause.message : String(cause)));
  return {
    take: (message) => live?.take(message),
    async close() {
      await joining;
      await Promise.all([live?.close(), exchange?.close()]);
    },
  };
}
