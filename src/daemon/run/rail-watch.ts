import { BenchError } from "../../../shared/bench-error.ts";
import type { BenchFile } from "../../../shared/files/bench-file.ts";
import type { BoardFile } from "../../../shared/files/board-file.ts";
import type { MeterReading } from "../../../shared/meter-reading.ts";
import { voltsLimits } from "../../verdict/diagnosis/reading-state.ts";
import { type RailVerdictName, railVerdict } from "../../verdict/rail-verdict.ts";
import type { BenchProcess } from "../process/bench-process.ts";

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
  readonly #onTrouble: (sentence: string) => void;
  readonly #rails: readonly WatchedRail[];
  readonly #read = new Map<string, Read[]>();
  #at = 0;
  #hasBegun = false;

  /** `rails` must not be empty. */
  constructor(client: BenchProcess, rails: readonly WatchedRail[], onTrouble: (sentence: string) => void) {
    this.#client = client;
    this.#rails = rails;
    this.#onTrouble = onTrouble;
    client.on("meter-readings", this.#take);
  }

  readonly #take = ({ readings }: { readings: MeterReading[] }): void => {
    for (const { function: reads, channel, kind, value, halfWidth } of readings) {
      const rail = this.#rails[this.#at];
      if (rail === undefined || reads !== "volts" || channel !== rail.channel || kind !== "value") continue;
      this.#add(rail.name, value ?? 0, halfWidth ?? 0);
      if (this.#rails.length === 1) continue;
      this.#at = (this.#at + 1) % this.#rails.length;
      this.#ask();
    }
  };

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

  /** Leaves the meter alone again. */
  end(): void {
    this.#client.off("meter-readings", this.#take);
    if (this.#hasBegun) void this.#client.restMeter().catch(() => undefined);
  }

  #ask(): void {
    const { channel, entry } = this.#rails[this.#at] ?? {};
    const rangeUpTo = entry == null ? null : 1.2 * Math.abs(entry.volts);
    this.#client
      .readMeter({ function: "volts", rangeUpTo, powerLineCycles: null, channel: channel ?? null, leadNullOhms: null })
      .catch((cause: Error) => this.#onTrouble(`The rails are not measured: ${cause.message}`));
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

/**
 * The rails that a margin run watches: the one that was named, under the probe; without one, every rail that the meter's
 * scanner is wired to. Throws BenchError "bad-input" for a rail that the board file does not name, and without a meter.
 */
export function railsToWatch(bench: BenchFile, board: BoardFile | null, rail: string | undefined): WatchedRail[] {
  const known = board?.rails ?? null;
  const scanner = bench.meter === undefined ? undefined : bench.instruments[bench.meter]?.scanner;
  if (rail === undefined) {
    return Object.entries(known ?? {}).flatMap(([name, entry]) =>
      scanner !== undefined && Object.hasOwn(scanner, name) ? [{ name, channel: scanner[name] ?? null, entry }] : [],
    );
  }
  if (known !== null && !Object.hasOwn(known, rail)) {
    const names = Object.keys(known);
    throw new BenchError(
      "bad-input",
      `Cannot watch ${JSON.stringify(rail)}: ${names.length === 0 ? `the board file of ${board?.name} names no rails` : `it is not a rail of ${board?.name}, whose rails are ${names.join(", ")}`}; nothing was touched`,
    );
  }
  if (bench.meter === undefined)
    throw new BenchError("bad-input", "Cannot watch a rail: the bench file names no meter; nothing was touched");
  return [{ name: rail, channel: null, entry: known?.[rail] ?? null }];
}
