import type { WireReading, WireSnapshot } from "../../../shared/wire.ts";

const MOST = 2400;

/** Readings of the present run for a page that opens late; thinned to every other one whenever a feed's grow too many. */
export class TraceRing {
  readonly #feeds = new Map<string, WireReading[]>();

  clear(): void {
    this.#feeds.clear();
  }

  add(feed: string, readings: readonly WireReading[]): void {
    let all = [...(this.#feeds.get(feed) ?? []), ...readings];
    while (all.length > MOST) all = all.filter((_, index) => index % 2 === 0);
    this.#feeds.set(feed, all);
  }

  list(): WireSnapshot["trace"] {
    return [...this.#feeds].map(([feed, readings]) => ({ feed, readings }));
  }
}
