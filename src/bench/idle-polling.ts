import type { Clock } from "../../shared/clock.ts";
import type { FeedReading } from "../../shared/reading.ts";
import type { Supply } from "../instrument/supply.ts";
import { type Polling, pollSupply } from "../reading/poll-supply.ts";
import type { FeedSource } from "./plan-runner-options.ts";

export interface IdlePollingOptions {
  clock: Clock;
  onReading: (reading: FeedReading) => void;
  /** Called once for each silence, at its third unanswered question. */
  onSilent: (cause: unknown) => void;
}

const ROUND_MS = 200;
const SILENT_AFTER = 3;

/** Live figures while no run is on, for the screen only: nothing is decided by them. */
export class IdlePolling {
  readonly #options: IdlePollingOptions;
  #pollings: Polling[] = [];

  constructor(options: IdlePollingOptions) {
    this.#options = options;
  }

  /** Reads these feeds from now on, in place of those before. */
  start(sources: ReadonlyMap<string, FeedSource>): void {
    this.stop();
    const { clock, onReading, onSilent } = this.#options;
    const zeroMs = clock.nowMs();
    const bySupply = new Map<Supply, { feed: string; channel: number; everyNth: number }[]>();
    for (const [feed, { supply, channel }] of sources) {
      bySupply.set(supply, [...(bySupply.get(supply) ?? []), { feed, channel, everyNth: 1 }]);
    }
    this.#pollings = [...bySupply].map(([supply, targets]) =>
      pollSupply({
        supply,
        clock,
        zeroMs: () => zeroMs,
        leastRoundMs: ROUND_MS,
        targets: () => targets,
        onReading,
        onFailure: (cause, inARow) => {
          if (inARow === SILENT_AFTER) onSilent(cause);
        },
      }),
    );
  }

  stop(): void {
    for (const polling of this.#pollings.splice(0)) polling.stop();
  }
}
