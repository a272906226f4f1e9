import type { BoardFile } from "../../../shared/board-file.ts";
import type { BenchProcess } from "../../daemon/process/bench-process.ts";
import { voltsLimits } from "../../verdict/diagnosis/reading-state.ts";
import { type RailVerdictName, railVerdict } from "../../verdict/rail-verdict.ts";
import { say } from "../text/people.ts";

/** One rail to be watched: by the probe that stays on it, or by a channel of the meter's scanner. */
export interface WatchedRail {
  name: string;
  /** null: the probe. */
  channel: number | null;
  /** The board file's entry; null where there is no board file. */
  entry: BoardFile["rails"][string] | null;
}

/** The number of a rail's readings that make its value at a step, the last ones: those before may be from its settling. */
const LAST = 3;

/** A rail at one step: the mean of the last readings since the step before, judged where the board file says how. */
export interface RailAtStep {
  volts: number | null;
  verdict: RailVerdictName;
}

interface Read {
  volts: number;
  halfWidth: number;
}

/** The volts of rails while something else goes on: one by the probe, or several in turn by the scanner's channels. */
export class RailWatch {
  readonly #client: BenchProcess;
  readonly #rails: readonly WatchedRail[];
  readonly #read = new Map<string, Read[]>();
  #at = 0;
  #hasBegun = false;

  /** `rails` must not be empty. */
  constructor(client: BenchProcess, rails: readonly WatchedRail[]) {
    this.#client = client;
    this.#rails = rails;
    client.on("meter-readings", ({ readings }) => {
      for (const { function: reads, channel, kind, value, halfWidth } of readings) {
        const rail = this.#rails[this.#at];
        if (rail === undefined || reads !== "volts" || channel !== rail.channel || kind !== "value") continue;
        this.#add(rail.name, value ?? 0, halfWidth ?? 0);
        if (this.#rails.length === 1) continue;
        this.#at = (this.#at + 1) % this.#rails.length;
        this.#ask();
      }
    });
  }

  /** Begins to read, where it has not yet; a meter that cannot is said and leaves its rails unread. */
  begin(): void {
    if (this.#hasBegun) return;
    this.#hasBegun = true;
    this.#ask();
  }

  /** Every rail since the last call. */
  take(): Record<string, RailAtStep> {
    const found = Object.fromEntries(this.#rails.map((rail) => [rail.name, this.#judged(rail)]));
    this.#read.clear();
    return found;
  }

  #ask(): void {
    const { channel, entry } = this.#rails[this.#at] ?? {};
    const rangeUpTo = entry == null ? null : 1.2 * Math.abs(entry.volts);
    this.#client
      .readMeter({ function: "volts", rangeUpTo, powerLineCycles: null, channel: channel ?? null, leadNullOhms: null })
      .catch((cause: Error) => say(`note: the rails are not measured: ${cause.message}`));
  }

  #add(name: string, volts: number, halfWidth: number): void {
    this.#read.set(name, [...(this.#read.get(name) ?? []), { volts, halfWidth }].slice(-LAST));
  }

  #judged({ name, entry }: WatchedRail): RailAtStep {
    const read = this.#read.get(name) ?? [];
    if (read.length === 0) return { volts: null, verdict: "not-measured" };
    const volts = read.reduce((sum, each) => sum + each.volts, 0) / read.length;
    if (entry === null) return { volts, verdict: "not-measured" };
    const { low, high } = voltsLimits(entry);
    const halfWidthVolts = Math.max(...read.map((each) => each.halfWidth));
    return { volts, verdict: railVerdict({ volts, lowVolts: low, highVolts: high, halfWidthVolts }).verdict };
  }
}
