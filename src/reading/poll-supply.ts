import { type Clock, wholeHundredths } from "../../shared/clock.ts";
import type { FeedReading } from "../../shared/reading.ts";
import type { PanelState, Supply, SupplyReading } from "../instrument/supply.ts";

export interface PollTarget {
  feed: string;
  channel: number;
  /** 1 reads it every round, n every nth: feeds that are off are watched for back-feed at a lower rate. */
  everyNth: number;
}

export interface PollOptions {
  supply: Supply;
  clock: Clock;
  /** Clock time that counts as zero of `atMs`. */
  zeroMs: () => number;
  /** Asked anew each round; empty pauses until `wake`. */
  targets: () => readonly PollTarget[];
  /** `panel` is what the supply said of its own settings in the same answer. */
  onReading: (reading: FeedReading, panel: PanelState) => void;
  /** A reading that did not come; `inARow` counts them since the last that did. */
  onFailure: (cause: unknown, inARow: number) => void;
  /** Least time from the start of one round to the start of the next; 0, as fast as the instrument answers. */
  leastRoundMs?: number;
}

export interface Polling {
  /** Looks at the targets again now, where it had paused. */
  wake(): void;
  /** No further reading is asked for; one that is under way is not published. */
  stop(): void;
}

/**
 * Reads the channels of one supply round after round, one question outstanding at a time, and hands each reading on as
 * it arrives. A failure is reported and the round goes on: what it means is the plan's to say.
 */
export function pollSupply(options: PollOptions): Polling {
  const { supply, clock } = options;
  let stopped = false;
  let wakeUp: (() => void) | undefined;
  let failures = 0;

  const pause = (ms: number | undefined) =>
    new Promise<void>((resolve) => {
      const cancel = ms === undefined ? undefined : clock.after(ms, resolve);
      wakeUp = () => {
        cancel?.();
        resolve();
      };
    }).finally(() => {
      wakeUp = undefined;
    });

  const readOne = async (target: PollTarget): Promise<void> => {
    let read: SupplyReading;
    try {
      read = await supply.read(target.channel);
    } catch (cause) {
      if (stopped) return;
      failures += 1;
      options.onFailure(cause, failures);
      // A link that refuses at once must not spin the processor.
      await pause(5);
      return;
    }
    if (stopped) return;
    failures = 0;
    const { queriedAtMs, atMs, panel, ...rest } = read;
    const zero = options.zeroMs();
    // An error from here is no failed reading: it ends the process, and that cuts.
    const times = { queriedAtMs: wholeHundredths(queriedAtMs - zero), atMs: wholeHundredths(atMs - zero) };
    options.onReading({ feed: target.feed, ...rest, ...times }, panel);
  };

  const rounds = async (): Promise<void> => {
    for (let round = 0; !stopped; round++) {
      const startedMs = clock.nowMs();
      const wanted = options.targets();
      if (wanted.length === 0) await pause(undefined);
      for (const target of wanted) {
        if (stopped) return;
        if (round % target.everyNth !== 0) continue;
        // The plan may have changed its mind while the last reading was on its way.
        const now = options.targets();
        if (now === wanted || now.some((each) => each.feed === target.feed)) await readOne(target);
      }
      const restMs = (options.leastRoundMs ?? 0) - (clock.nowMs() - startedMs);
      if (restMs > 0 && !stopped) await pause(restMs);
    }
  };
  void rounds();

  return {
    wake: () => wakeUp?.(),
    stop: () => {
      stopped = true;
      wakeUp?.();
    },
  };
}
