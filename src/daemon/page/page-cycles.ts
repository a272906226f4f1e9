import type { Clock } from "../../../shared/clock.ts";
import type { Epoch } from "../../../shared/epoch.ts";
import type { Cycle, CyclesResult } from "../../../shared/record/cycles.ts";
import { pciAddressIn } from "../../../shared/record/pci-address.ts";
import type { WireAnswer } from "../../../shared/wire.ts";
import type { TaskWish } from "../../../shared/wire-request.ts";
import { messageOf } from "../../../shared/words/message-of.ts";
import { hostWordIn } from "../../job/filing/host-word-in.ts";
import { cyclesText } from "../../job/report/host-text.ts";
import type { JobStore } from "../../job/store/job-store.ts";
import { cyclesResult } from "../../verdict/cycles.ts";
import type { ActiveRun } from "../run/active-run.ts";
import { type CycleLoop, type CyclesEnd, cycleLoop, heatOf } from "../run/cycle-loop.ts";
import type { CycleStart } from "../run/cycle-starts.ts";
import type { Permitted, RunStarts } from "./run-starts.ts";
import type { PageShow } from "./show-page.ts";

/** A series as a page asks for it. */
type AskedCycles = Extract<TaskWish, { task: "cycle" }>;

export interface PageCyclesOptions {
  show: PageShow;
  store: JobStore;
  clock: Clock;
  /** Every start of the series was asked for before an off that comes later. */
  epoch: Epoch;
  runs: () => RunStarts;
  onOver: (job: string) => void;
}

/** The one series of starts of a daemon: each by every stage, off and proved off in between, ended by any off and with the page in control. */
export class PageCycles {
  readonly #options: PageCyclesOptions;
  #on: Promise<void> | null = null;
  #stoppedBy: string | null = null;
  #wake: () => void = () => {};

  constructor(options: PageCyclesOptions) {
    this.#options = options;
  }

  /** True from the first start to the end, also while everything is off between two. */
  get isOn(): boolean {
    return this.#on !== null;
  }

  /** Begins; answers once the first start is under way. */
  async start(permitted: Permitted, wish: AskedCycles): Promise<WireAnswer> {
    this.#stoppedBy = null;
    const first = await this.#options.runs().begin(permitted, "cycle");
    this.#on = this.#goOn(permitted, wish, first).finally(() => {
      this.#on = null;
      this.#options.onOver(permitted.job);
    });
    return { result: "started", run: first.header.run };
  }

  /** No start is made any more; what is on is not switched off by this. */
  stop(by: string): void {
    this.#stoppedBy ??= by;
    this.#wake();
  }

  /** Settles once a series that is on is over and filed. */
  async over(): Promise<void> {
    await this.#on;
  }

  async #goOn(permitted: Permitted, wish: AskedCycles, first: ActiveRun): Promise<void> {
    const { show, store, clock, runs } = this.#options;
    const { job, prepared } = permitted;
    const cycles: Cycle[] = [];
    const tell = (restSeconds: number | null, result: string | null = null): void =>
      show.cycles({ job, cycles: [...cycles], restSeconds, result });
    let next: ActiveRun | null = first;
    let ended: CyclesEnd;
    tell(null);
    try {
      ended = await cycleLoop({
        wish,
        ...heatOf(prepared.plan),
        nowMs: () => clock.nowMs(),
        stoppedBy: () => this.#by(permitted),
        rest: async (start) => {
          tell(start.offSeconds);
          await this.#rest(start, permitted);
          tell(null);
          return this.#by(permitted) === null;
        },
        power: async () => {
          const run = next ?? (await this.#begin(permitted));
          next = null;
          if (run === null) return null;
          return { run, result: await run.done };
        },
        ...this.#hostWordOf(permitted, wish),
        onCycle: (cycle) => {
          cycles.push(cycle);
          const why = cycle.because.length === 0 ? "" : `: ${cycle.because.join(" ")}`;
          show.say(
            cycle.clean ? "info" : "warn",
            `Start ${cycle.cycle}, ${cycle.start}: ${cycle.clean ? "clean" : "not clean"}${why}`,
          );
        },
      });
    } catch (cause) {
      // The run that energises ended already, and said what is true of the output: nothing more is started.
      ended = { cycles, end: { endedBy: "bench", because: messageOf(cause) }, last: null };
    }
    const { result } = cyclesResult(ended.cycles, ended.end);
    await store.appendEvent(job, { kind: "cycles", cycles, result }).catch((cause: unknown) => {
      show.say("error", `The starts could not be filed: ${messageOf(cause)}`);
    });
    tell(null, inWords(result));
    await runs().active?.done;
  }

  /** The way the host is asked after each start; a file that cannot be read is told of, and says nothing of the start. */
  #hostWordOf({ job, prepared }: Permitted, { hostLook, port }: AskedCycles): Pick<CycleLoop, "hostWord"> {
    if (hostLook === undefined) return {};
    const { store, clock, show } = this.#options;
    const at = port === undefined ? null : pciAddressIn(port);
    const of = { store, clock, job, board: prepared.request.board, ...(at === null ? {} : { port: at }) };
    return {
      hostWord: (sinceMs) =>
        hostWordIn(hostLook, { ...of, sinceMs }).catch((cause: unknown) => {
          show.say("warn", messageOf(cause));
          return null;
        }),
    };
  }

  #by({ asked }: Permitted): string | null {
    return this.#options.epoch.hasRisenSince(asked) ? "an off" : this.#stoppedBy;
  }

  async #begin(permitted: Permitted): Promise<ActiveRun | null> {
    try {
      return await this.#options.runs().begin(permitted, "cycle");
    } catch (cause) {
      if (this.#by(permitted) !== null) return null;
      throw cause;
    }
  }

  /** Everything is off; an off, or the page that goes away, ends the wait. */
  async #rest({ offSeconds }: CycleStart, permitted: Permitted): Promise<void> {
    if (this.#by(permitted) !== null) return;
    await new Promise<void>((resolve) => {
      const callOff = this.#options.clock.after(1000 * offSeconds, resolve);
      this.#wake = () => {
        callOff();
        resolve();
      };
    });
    this.#wake = () => {};
  }
}

/** The text itself names the reason for an end before the plan was done. */
const inWords = (result: CyclesResult): string =>
  result.endedBy === "plan" ? `${cyclesText(result)}; ${result.because}.` : `${cyclesText(result)}.`;
