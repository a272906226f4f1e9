import type { MeterReadSetting } from "../../../shared/meter-reading.ts";
import type { JobEvent } from "../../../shared/record/job.ts";
import type { SweepPoint, SweepRail } from "../../../shared/sweep.ts";
import type { JobStore } from "../../job/store/job-store.ts";
import { uuidV7 } from "../../job/store/uuid-v7.ts";
import { coldOhmsIn } from "../../verdict/sweep/sweep-readings.ts";

/**
 * Files a sweep while it goes on: each value as it is judged, a corrected one beside the first. What cannot be written is
 * told once, by `onTrouble`.
 */
export class SweepRecord {
  readonly sweep = uuidV7();
  readonly #store: Pick<JobStore, "appendEvent">;
  readonly #job: string;
  readonly #onTrouble: (cause: unknown) => void;
  readonly #filed = new Map<string, string>();
  readonly #fourWire = new Set<string>();
  #work: Promise<void> = Promise.resolve();
  #trouble: unknown;

  constructor(options: {
    store: Pick<JobStore, "appendEvent">;
    job: string;
    onTrouble: (cause: unknown) => void;
  }) {
    this.#store = options.store;
    this.#job = options.job;
    this.#onTrouble = options.onTrouble;
  }

  /** The reason why it was not written whole, in words; null where nothing did. */
  get trouble(): string | null {
    if (this.#trouble === undefined) return null;
    return this.#trouble instanceof Error ? this.#trouble.message : String(this.#trouble);
  }

  begin(of: Omit<Extract<JobEvent, { kind: "sweep-started" }>, "kind" | "sweep">): void {
    this.#file({ kind: "sweep-started", sweep: this.sweep, ...of });
  }

  rail(point: SweepPoint, rail: SweepRail, setting: MeterReadSetting, run: string | null): void {
    const id = uuidV7();
    const place = `${point.quantity} ${point.rail}`;
    const corrects = this.#filed.get(place) ?? null;
    this.#filed.set(place, id);
    if (setting.function === "fourWireOhms" && rail.how !== "typed") this.#fourWire.add(point.rail);
    else if (point.quantity === "ohms") this.#fourWire.delete(point.rail);
    this.#file({ kind: "sweep-rail", sweep: this.sweep, run, rail, setting, corrects }, id);
  }

  /** The last of it; resolves when everything is on the disk, or is not to be. */
  async end(
    of: Omit<Extract<JobEvent, { kind: "sweep-ended" }>, "kind" | "sweep">,
    rails: readonly SweepRail[],
  ): Promise<void> {
    const ohms = coldOhmsIn(rails);
    if (Object.keys(ohms).length > 0) {
      const isTyped = rails.every((each) => each.quantity !== "ohms" || each.readings === 0 || each.how === "typed");
      this.#file({ kind: "cold-readings", ohms, by: isTyped ? "hand" : "meter", boardCelsius: null, ...this.#wires() });
    }
    this.#file({ kind: "sweep-ended", sweep: this.sweep, ...of });
    await this.#work;
  }

  #wires(): { fourWire?: string[] } {
    return this.#fourWire.size === 0 ? {} : { fourWire: [...this.#fourWire] };
  }

  #file(event: JobEvent, id?: string): void {
    this.#work = this.#work
      .then(async () => void (await this.#store.appendEvent(this.#job, event, id === undefined ? {} : { id })))
      .catch((cause: unknown) => {
        if (this.#trouble !== undefined) return;
        this.#trouble = cause;
        this.#onTrouble(cause);
      });
  }
}
