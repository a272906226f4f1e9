import type { Clock } from "../../../shared/clock.ts";
import type { BenchFile } from "../../../shared/files/bench-file.ts";
import type { BoardFile } from "../../../shared/files/board-file.ts";
import type { FoundInstrument } from "../../../shared/ipc.ts";
import type { ColdReadings } from "../../../shared/permit.ts";
import type { BeginSweep, SweepQuantity } from "../../../shared/sweep.ts";
import type { WireAnswer, WireCommand } from "../../../shared/wire.ts";
import type { SweepHow } from "../../../shared/wire-request.ts";
import type { JobStore } from "../../job/store/job-store.ts";
import { uuidV7 } from "../../job/store/uuid-v7.ts";
import type { PreparedRun } from "../run/prepare-run.ts";
import type { GuidedSweep } from "../sweep/guided-sweep.ts";
import { openSweep } from "../sweep/open-sweep.ts";
import type { SweepPower } from "../sweep/sweep-power.ts";
import type { PageShow } from "./show-page.ts";

/** The watch of a sweep's own power-up, seconds. */
export const SWEEP_WATCH_SECONDS = 3;

export interface PageSweepOptions {
  show: PageShow;
  store: JobStore;
  begin: BeginSweep;
  clock: Clock;
  /** Told of the end, which is filed by then. */
  onOver: (job: string) => void;
}

export interface SweepWish {
  bench: BenchFile;
  board: BoardFile;
  job: string;
  coldOhms: ColdReadings;
  /** null: nothing is energised. */
  prepared: PreparedRun | null;
  instruments: FoundInstrument[];
  side: SweepPower;
  how: SweepHow;
}

interface SweepOn {
  desk: GuidedSweep;
  cold: boolean;
  at: { rail: string; quantity: SweepQuantity } | null;
}

/** The one sweep of a daemon: begun from a page, steered from it, its lines shown to every page. */
export class PageSweep {
  readonly #options: PageSweepOptions;
  #on: SweepOn | null = null;
  #isStarting = false;

  constructor(options: PageSweepOptions) {
    this.#options = options;
  }

  get isOn(): boolean {
    return this.#isStarting || this.#on !== null;
  }

  /** True while a sweep holds a board on, or will bring it back after it has cooled. */
  get isPowered(): boolean {
    return this.#on?.cold === false;
  }

  /** Begins a sweep and answers with its id. */
  async start(of: SweepWish): Promise<string> {
    if (this.isOn) throw new Error("A sweep is already in progress; end it first.");
    this.#isStarting = true;
    try {
      const { begin, clock, store } = this.#options;
      const desk = await openSweep({
        ...of,
        begin,
        clock,
        store,
        ...of.how,
        keepOn: false,
      });
      return this.#follow(desk, of);
    } finally {
      this.#isStarting = false;
    }
  }

  #follow(desk: GuidedSweep, { job, prepared }: SweepWish): string {
    const { show } = this.#options;
    const cold = prepared === null;
    const sweep = uuidV7();
    const on: SweepOn = { desk, cold, at: null };
    this.#on = on;
    show.sweepBegan({ sweep, cold, job, lines: [] });
    desk.on("line", (line) => {
      if (line.event === "place-probe") on.at = { rail: line.rail, quantity: line.quantity };
      show.sweepLine(line);
      if (line.event === "rail") show.send({ type: "job-changed", job });
    });
    void desk.done.then(({ recordTrouble }) => {
      this.#on = null;
      if (recordTrouble !== null) show.say("error", `The record of the sweep is incomplete: ${recordTrouble}`);
      this.#options.onOver(job);
    });
    desk.start();
    return sweep;
  }

  /** A word or a value for the rail the person saw; for another one it is refused, since the sweep has gone on. */
  say({ rail, says }: Extract<WireCommand, { type: "say-sweep" }>): WireAnswer {
    const on = this.#on;
    if (on === null) return refused("no-sweep", "No sweep is in progress.");
    if ("word" in says && says.word === "stop") {
      on.desk.say("stop");
      return { result: "done" };
    }
    if (on.at === null || on.at.rail !== rail) {
      return refused(
        "other-rail",
        `The sweep is at ${on.at?.rail ?? "no rail"} now, so nothing was taken for ${rail ?? "it"}.`,
      );
    }
    if ("word" in says) on.desk.say(says.word);
    else on.desk.type(on.at.quantity, says.value === "open" ? null : says.value);
    return { result: "done" };
  }

  /** Files a person's action on the board; answers a sentence where nothing was filed. */
  mark(text: string | null): string | null {
    return this.#on === null ? "No sweep is in progress; nothing was filed." : this.#on.desk.mark(text);
  }

  stop(): void {
    this.#on?.desk.say("stop");
  }

  cut(by: string): void {
    this.#on?.desk.cut(by);
  }

  /** Settles once a sweep that is on is over and filed. */
  async over(): Promise<void> {
    await this.#on?.desk.done;
  }
}

const refused = (code: string, because: string): WireAnswer => ({ result: "refused", code, because });
