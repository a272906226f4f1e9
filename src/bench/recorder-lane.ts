import type { Clock } from "../../shared/clock.ts";
import type { RecordedRun } from "../../shared/record/recording.ts";
import { messageOf } from "../../shared/words/message-of.ts";
import type { Recorder, RecorderTrigger } from "../instrument/recorder/recorder.ts";

/** A run waits no longer for a recorder before it begins, nothing being on. */
const ARM_MS = 2000;
/** Nor the end of a run, everything being off, for what it recorded; a slow serial line takes most of it. */
const FETCH_MS = 30_000;

/** The outcome of a run's record: it, or why there is none. */
export interface RecordingOutcome {
  recorded: RecordedRun | null;
  because: string | null;
}

/**
 * The recorder around a run: armed before anything is on, asked again once all is proved off, and left alone in between: there is no
 * connection to it then, or, where it is the buffer of a supply or a meter, no word to it. Nothing here throws, and nothing that a recorder does or does not do keeps a run from beginning or from ending.
 */
export class RecorderLane {
  readonly #recorder: Recorder;
  readonly #clock: Clock;
  #armed: RecorderTrigger | null = null;
  #trouble: string | null = null;

  constructor(recorder: Recorder, clock: Clock) {
    this.#recorder = recorder;
    this.#clock = clock;
  }

  /** Settles once it is armed, or after two seconds at the latest. */
  async arm(trigger: RecorderTrigger | null): Promise<void> {
    this.#recorder.abandon();
    this.#armed = null;
    this.#trouble =
      trigger === null
        ? "nothing triggers it: its entry in the bench file needs a trigger, or a channel on a feed"
        : null;
    if (trigger === null) return;
    try {
      await this.#within(ARM_MS, this.#recorder.arm(trigger), "it was not ready");
      this.#armed = trigger;
    } catch (cause) {
      this.#trouble = messageOf(cause);
    }
  }

  /** The recording of the run that is over. `isOff` false: outputs are not proved off, and nothing else may take their time. */
  async fetch(isOff: boolean): Promise<RecordingOutcome> {
    const armed = this.#armed;
    this.#armed = null;
    const none = (because: string): RecordingOutcome => ({
      recorded: null,
      because: `${this.#recorder.name}: ${because}`,
    });
    if (armed === null) return none(this.#trouble ?? "it was not armed");
    if (!isOff) return none("it was not read, because an output was not proved off");
    try {
      const recorded = await this.#within(FETCH_MS, this.#recorder.fetch(armed), "it did not return its recording");
      return recorded === null ? none("nothing triggered it") : { recorded, because: null };
    } catch (cause) {
      return none(messageOf(cause));
    }
  }

  /** The kind of instrument that it is the buffer of; null: an instrument of its own. */
  get inside(): "supply" | "meter" | null {
    return this.#recorder.inside;
  }

  /** Somebody wants the instrument that it is the buffer of: what it is armed for is given up first. */
  async yield(): Promise<void> {
    if (this.inside === null || this.#armed === null) return;
    this.#armed = null;
    this.#trouble = "its instrument was needed for readings while it recorded";
    await this.#within(ARM_MS, this.#recorder.release(), "it did not stop").catch(() => {});
  }

  close(): void {
    this.#recorder.abandon();
  }

  #within<T>(ms: number, work: Promise<T>, what: string): Promise<T> {
    return new Promise((resolve, reject) => {
      let over: Error | null = null;
      const cancel = this.#clock.after(ms, () => {
        over = new Error(`${what} within ${ms / 1000} s`);
        this.#recorder.abandon();
        // The instrument whose wire it shares has that back before anything else is done.
        if (this.inside === null) reject(over);
      });
      work
        .then(
          (value) => (over === null ? resolve(value) : reject(over)),
          (cause: unknown) => reject(over ?? cause),
        )
        .finally(cancel);
    });
  }
}
