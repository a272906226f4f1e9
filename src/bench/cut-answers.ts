import type { FromBench } from "../../shared/ipc.ts";
import type { CutLane, Outputs } from "./cut-lane.ts";

export interface CutAnswersOptions {
  cutLane: CutLane;
  /** Every output of the bench, as it is connected now. */
  outputs: () => Outputs;
  /** Settles when the links under way are open or could not be opened; undefined where none are being opened. */
  connecting: () => Promise<void> | undefined;
  /** The last messages of a run to its supplies once they are off. */
  endOfRun: () => Promise<void>;
  send: (message: FromBench) => void;
  /** There was nothing to cut. */
  refuse: (id: number, why: string) => void;
}

const NOTHING = "No supply is connected, so there was nothing to cut.";

/** Says what came of each cut that was asked for: that off is written, and, once it is known, what the outputs are then. */
export class CutAnswers {
  readonly #options: CutAnswersOptions;
  #proving = 0;
  #proved: Promise<void> = Promise.resolve();

  constructor(options: CutAnswersOptions) {
    this.#options = options;
  }

  /** A cut is not proved yet: its off may still be written again. */
  get isProving(): boolean {
    return this.#proving > 0;
  }

  /** Settles when the last cut that was asked for is proved, or was given up. */
  get proved(): Promise<void> {
    return this.#proved;
  }

  /**
   * To be called once off is written. While the links are being opened anew the cut is taken, nothing can come on, and off is
   * written to each supply as soon as it is there.
   */
  answer(id: number): Promise<void> {
    const { outputs, connecting, send, refuse } = this.#options;
    if (connecting() === undefined && outputs().size === 0) {
      refuse(id, NOTHING);
      return Promise.resolve();
    }
    send({ type: "done", id });
    this.#proving += 1;
    this.#proved = this.#prove(id).finally(() => {
      this.#proving -= 1;
    });
    return this.#proved;
  }

  async #prove(id: number): Promise<void> {
    const { cutLane, outputs, connecting, endOfRun, send } = this.#options;
    await connecting()?.catch(() => {});
    const all = outputs();
    // A run that waits for a person's hand is not waited for.
    await endOfRun();
    const { output, because } =
      all.size === 0 ? { output: "unknown" as const, because: NOTHING } : await cutLane.prove(all);
    send({ type: "cut-proof", id, output, because });
  }
}
