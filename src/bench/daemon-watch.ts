import { BenchError } from "../../shared/bench-error.ts";
import type { Clock } from "../../shared/clock.ts";
import type { ProcessorTime } from "../system/processor-time.ts";
import { Silence } from "../system/silence.ts";

export interface DaemonWatchOptions {
  clock: Clock;
  /** A daemon silent for longer has gone. Milliseconds. */
  beatLimitMs: number;
  daemonTime?: () => ProcessorTime | null;
  sleptMs?: () => number;
}

/** Why a run must not go on, as the machine hears it. */
type Found = { event: "lease-lost"; because: string } | { event: "clock-gap"; gapMs: number };

/** Longer than two readings of two clocks may lie apart on a busy machine. */
const LEAST_SLEEP_MS = 2000;

/**
 * Whether the daemon may still ask for something, and is still there: its lease, its beats, and whether the whole machine
 * slept meanwhile.
 */
export class DaemonWatch {
  readonly #options: DaemonWatchOptions;
  readonly #silence: Silence;
  #lease = 0;
  /** Its silence was told, and it has not been heard since. */
  #isTold = false;
  #sleptMs: number;

  constructor(options: DaemonWatchOptions) {
    this.#options = options;
    this.#silence = new Silence(options.clock.nowMs(), options.daemonTime);
    this.#sleptMs = options.sleptMs?.() ?? 0;
  }

  /** The daemon names its lease; null leaves none in force, and every command is refused. */
  hello(lease: number | null): void {
    if (lease !== null) this.#lease = lease;
    this.#silence.heard(this.#options.clock.nowMs());
  }

  beat(lease: number): void {
    if (lease === this.#lease) this.#silence.heard(this.#options.clock.nowMs());
  }

  /** Why a command cannot be taken: its lease, or its deadline. */
  refusal({ lease, deadlineMs, type }: { lease: number; deadlineMs: number; type: string }): BenchError | undefined {
    if (lease !== this.#lease) {
      return new BenchError(
        "bad-message",
        `Cannot ${type}: it was asked under the lease ${lease}, which is no longer in force; nothing was sent`,
      );
    }
    if (this.#options.clock.nowMs() <= deadlineMs) return undefined;
    return new BenchError("write-late", `Cannot ${type}: it came after its deadline; nothing was sent`);
  }

  /** To be called every 25 ms: what ends a run now. With no run on, nothing is told; a run that begins later hears it. */
  look(isIdle: boolean): Found | null {
    const { clock, beatLimitMs, sleptMs } = this.#options;
    const beforeMs = this.#sleptMs;
    this.#sleptMs = sleptMs?.() ?? 0;
    const silentMs = this.#silence.look(clock.nowMs(), beatLimitMs);
    if (silentMs <= beatLimitMs) this.#isTold = false;
    if (isIdle) return null;
    const gapMs = this.#sleptMs - beforeMs;
    if (gapMs > LEAST_SLEEP_MS) return { event: "clock-gap", gapMs };
    if (silentMs <= beatLimitMs || this.#isTold) return null;
    this.#isTold = true;
    const because = `the daemon was silent for ${Math.round(silentMs)} ms (limit ${beatLimitMs} ms)`;
    return { event: "lease-lost", because };
  }
}
