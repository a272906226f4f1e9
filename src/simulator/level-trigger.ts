import { SignalMemory } from "./recorder-signal.ts";

export type TriggerState = "stopped" | "waiting" | "triggered";

/** Signals as they are at one moment, and how a record of them is set up: times in milliseconds. */
export interface TriggerSetUp {
  /** The signal that is watched, and the level through which it has to rise. */
  watched: number;
  level: number;
  /** Lengths of the record before and after the trigger. */
  beforeMs: number;
  afterMs: number;
}

/** The part of a recorder that waits for a level, and keeps what it saw before it and after it. */
export class LevelTrigger {
  #memory = new SignalMemory();
  #state: TriggerState = "stopped";
  #last: number | null = null;
  #triggerMs: number;
  #endMs = 0;

  /** `triggerMs`: the moment that counts as the trigger before the first record; left out: none. */
  constructor(triggerMs = Number.POSITIVE_INFINITY) {
    this.#triggerMs = triggerMs;
  }

  get memory(): SignalMemory {
    return this.#memory;
  }

  get state(): TriggerState {
    return this.#state;
  }

  get triggerMs(): number {
    return this.#triggerMs;
  }

  get endMs(): number {
    return this.#endMs;
  }

  run(): undefined {
    this.#memory = new SignalMemory();
    this.#state = "waiting";
    this.#last = null;
    this.#triggerMs = Number.POSITIVE_INFINITY;
    return undefined;
  }

  stop(nowMs: number): undefined {
    if (this.#state === "triggered") this.#endMs = nowMs;
    this.#state = "stopped";
    return undefined;
  }

  /** Stops as a reset does: the end of a record stays where it was to be. */
  reset(): void {
    this.#state = "stopped";
  }

  note(atMs: number, values: number[], { watched, level, beforeMs, afterMs }: TriggerSetUp): void {
    this.#memory.note(atMs, values);
    if (this.#state === "triggered") {
      if (atMs >= this.#endMs) this.#state = "stopped";
      return;
    }
    if (this.#last !== null && this.#last < level && watched >= level) {
      this.#state = "triggered";
      this.#triggerMs = atMs;
      this.#endMs = atMs + afterMs;
    } else this.#memory.forgetBefore(atMs - beforeMs);
    this.#last = watched;
  }
}
