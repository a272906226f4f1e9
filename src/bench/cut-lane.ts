import { type Clock, pause } from "../../shared/clock.ts";
import { messageOf } from "../../shared/words/message-of.ts";
import type { Supply } from "../instrument/supply.ts";

/** The channels a run may energise, by supply. */
export type Outputs = ReadonlyMap<Supply, readonly number[]>;

/** The outputs that these feeds come from, each channel once. */
export function outputsOf(sources: Iterable<{ supply: Supply; channel: number }>): Outputs {
  const outputs = new Map<Supply, number[]>();
  for (const { supply, channel } of sources) {
    const channels = outputs.get(supply) ?? [];
    outputs.set(supply, channels.includes(channel) ? channels : [...channels, channel]);
  }
  return outputs;
}

export interface CutResult {
  output: "off" | "unknown";
  because: string;
}

export interface CutLaneOptions {
  clock: Clock;
  /** Called while a cut stays unproved, once a second, and once more when it is proved after all. */
  onAlarm: (message: string, output: "unknown" | "off") => void;
  /** The time for which a cut that is not proved is tried again, milliseconds. */
  keepTryingMs?: number;
}

/** Time that the proof of an off may take, milliseconds: the greater of 500 and four measured round trips. */
export const proofMs = (supply: Supply): number => Math.max(500, 4 * (supply.roundTrip.p99Ms ?? 0));

/**
 * Switches off, past every queue. `now` writes the off lines in this same turn and returns; `prove` says what is true
 * of the outputs, and where that is not "off" writes them again, each quarter of a second, until it is or the time is up.
 */
export class CutLane {
  readonly #options: CutLaneOptions;

  constructor(options: CutLaneOptions) {
    this.#options = options;
  }

  now(outputs: Outputs): void {
    for (const [supply, channels] of outputs) {
      try {
        supply.cut([...channels]);
      } catch {
        // One supply whose link is gone must not keep the next from being cut; the proof will say so.
      }
    }
  }

  prove(outputs: Outputs): Promise<CutResult> {
    const { clock, keepTryingMs = 10_000 } = this.#options;
    const startedMs = clock.nowMs();
    return this.#prove(outputs, {
      againMs: 250,
      alarmMs: 1000,
      goesOn: () => clock.nowMs() - startedMs <= keepTryingMs,
    });
  }

  /** Whether all of these read off; asks and writes nothing, and raises no alarm. */
  look(outputs: Outputs): Promise<CutResult> {
    return this.#proveOnce(outputs);
  }

  /** For a run that ended in doubt: off again each second, for as long as `goesOn` says so; the alarm is a rarer one. */
  proveAtLast(outputs: Outputs, goesOn: () => boolean): Promise<CutResult> {
    return this.#prove(outputs, { againMs: 1000, alarmMs: 10_000, goesOn });
  }

  async #prove(
    outputs: Outputs,
    { againMs, alarmMs, goesOn }: { againMs: number; alarmMs: number; goesOn: () => boolean },
  ): Promise<CutResult> {
    const { clock, onAlarm } = this.#options;
    let lastAlarmMs = Number.NEGATIVE_INFINITY;
    for (;;) {
      const result = await this.#proveOnce(outputs);
      if (result.output === "off") {
        if (lastAlarmMs > Number.NEGATIVE_INFINITY) onAlarm(`the output is now off: ${result.because}`, "off");
        return result;
      }
      const nowMs = clock.nowMs();
      if (nowMs - lastAlarmMs >= alarmMs) {
        lastAlarmMs = nowMs;
        onAlarm(
          `The output could not be confirmed off: ${result.because}. Switch the supply off at its own switch now; the program keeps trying`,
          "unknown",
        );
      }
      if (!goesOn()) return result;
      await pause(clock, againMs);
      this.now(outputs);
    }
  }

  async #proveOnce(outputs: Outputs): Promise<CutResult> {
    const results = await Promise.all(
      [...outputs].map(async ([supply, channels]): Promise<CutResult> => {
        try {
          const { output, detail } = await supply.proveOff([...channels], { withinMs: proofMs(supply) });
          return { output, because: `${supply.name}: ${detail}` };
        } catch (cause) {
          return {
            output: "unknown",
            because: `${supply.name}: ${messageOf(cause)}`,
          };
        }
      }),
    );
    return {
      output: results.every((each) => each.output === "off") ? "off" : "unknown",
      because: results.map((each) => each.because).join("; "),
    };
  }
}
