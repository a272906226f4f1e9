import type { ActiveRun } from "./active-run.ts";
import type { RailAtStep, RailWatch } from "./rail-watch.ts";

/** The rails of a margin run, as they were read at each of its steps. */
export class MarginRails {
  /** One entry for each step that was taken. */
  readonly steps: Record<string, RailAtStep>[] = [];
  readonly #watch: RailWatch;

  constructor(watch: RailWatch) {
    this.#watch = watch;
  }

  follow(run: ActiveRun): void {
    run.on("progress", () => {
      this.#watch.begin();
      const taken = run.outcome.steps?.length ?? 0;
      while (this.steps.length < taken) this.steps.push(this.#watch.take());
    });
    void run.done.then(() => this.#watch.end());
  }
}
