import type { Clock } from "../../shared/clock.ts";
import { type FeedReading, IDLE_ROUND_MS } from "../../shared/reading.ts";
import type { Supply } from "../instrument/supply.ts";
import { type Polling, pollSupply } from "../reading/poll-supply.ts";
import type { MeterLane } from "./meter-lane.ts";
import type { FeedSource } from "./plan-runner-options.ts";

export interface IdlePollingOptions {
  clock: Clock;
  onReading: (reading: FeedReading) => void;
  /** A meter at rest answered. */
  onAnswer: (instrument: string) => void;
  /** Called once for each silence, at its third unanswered question. */
  onSilent: (cause: unknown) => void;
}

const SILENT_AFTER = 3;
/** A meter at rest is asked whether it is there so often; two silences in a row are told. */
const METER_MS = 2_000;
const METER_SILENT_AFTER = 2;

/** Live figures while no run is on, for the screen only: nothing is decided by them. */
export class IdlePolling {
  readonly #options: IdlePollingOptions;
  #pollings: Polling[] = [];
  #stopMeter: () => void = () => {};

  constructor(options: IdlePollingOptions) {
    this.#options = options;
  }

  /** Reads these feeds from now on, in place of those before, and asks the meter whether it is there. */
  start(sources: ReadonlyMap<string, FeedSource>, meter?: MeterLane): void {
    this.stop();
    if (meter !== undefined) this.#stopMeter = this.#askMeter(meter);
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
        leastRoundMs: IDLE_ROUND_MS,
        targets: () => targets,
        onReading,
        onFailure: (cause, inARow) => {
          if (inARow === SILENT_AFTER) onSilent(cause);
        },
      }),
    );
  }

  stop(): void {
    this.#stopMeter();
    this.#stopMeter = () => {};
    for (const polling of this.#pollings.splice(0)) polling.stop();
  }

  #askMeter(meter: MeterLane): () => void {
    const { clock, onAnswer, onSilent } = this.#options;
    let isOver = false;
    let silences = 0;
    const ask = async (): Promise<void> => {
      try {
        await meter.look();
        silences = 0;
        if (!isOver) onAnswer(meter.name);
      } catch (cause) {
        silences += 1;
        if (!isOver && silences === METER_SILENT_AFTER) onSilent(cause);
      }
      if (!isOver) stop = clock.after(METER_MS, () => void ask());
    };
    let stop = clock.after(METER_MS, () => void ask());
    return () => {
      isOver = true;
      stop();
    };
  }
}
