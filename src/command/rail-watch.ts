import type { BenchClient } from "../daemon/bench-client.ts";
import { say } from "./people.ts";

/** The volts of one rail while something else goes on: the meter's probe stays on it. */
export class RailWatch {
  readonly #client: BenchClient;
  readonly #rangeUpTo: number | null;
  #sum = 0;
  #count = 0;
  #asked = false;

  constructor(client: BenchClient, nominalVolts: number | null) {
    this.#client = client;
    this.#rangeUpTo = nominalVolts === null ? null : 1.2 * nominalVolts;
    client.on("meter-readings", ({ readings }) => {
      for (const { function: reads, kind, value } of readings) {
        if (reads !== "volts" || kind !== "value" || value === null) continue;
        this.#sum += value;
        this.#count += 1;
      }
    });
  }

  /** Begins to read, where it has not yet; a meter that cannot is said and leaves its column empty. */
  begin(): void {
    if (this.#asked) return;
    this.#asked = true;
    const setting = { rangeUpTo: this.#rangeUpTo, powerLineCycles: null, channel: null, leadNullOhms: null };
    this.#client
      .readMeter({ function: "volts", ...setting })
      .catch((cause: Error) => say(`note: the rail is not read: ${cause.message}`));
  }

  /** The mean since the last call; null where nothing was read. */
  take(): number | null {
    const mean = this.#count === 0 ? null : this.#sum / this.#count;
    this.#sum = 0;
    this.#count = 0;
    return mean;
  }
}
