import { BenchError } from "../../../shared/bench-error.ts";
import type { Epoch, EpochToken } from "../../../shared/epoch.ts";
import type { RunPurpose } from "../../../shared/record/run-record.ts";
import type { WireAnswer, WireCommand } from "../../../shared/wire.ts";
import type { RunRequest, TaskWish } from "../../../shared/wire-request.ts";
import { isVerdict } from "../../../shared/words/nothing-learned.ts";
import { ActiveRun, type RunResult } from "../run/active-run.ts";
import { MarginRails } from "../run/margin-rails.ts";
import { type PreparedRun, prepareRun, runHeader } from "../run/prepare-run.ts";
import { RailWatch, railsToWatch } from "../run/rail-watch.ts";
import { type Confirmed, startRefusal } from "../run/start-refusal.ts";
import { taskLines } from "../run/task-lines.ts";
import { purposeOf, wishOf } from "../run/task-wishes.ts";
import { CUT_BEFORE } from "./answers.ts";
import { boardFromText } from "./board-from-text.ts";
import { filedForRun } from "./filed-for-run.ts";
import type { DeskLinks } from "./links-of-desk.ts";
import type { PageCycles } from "./page-cycles.ts";
import type { RunDeskOptions } from "./run-desk.ts";
import type { PageShow } from "./show-page.ts";
import type { ShownPermits } from "./shown-permits.ts";

export interface RunStartsOptions {
  desk: RunDeskOptions;
  show: PageShow;
  links: () => DeskLinks;
  permits: ShownPermits;
  /** A start that was asked for before an off does not go on after it. */
  epoch: Epoch;
  isSweepOn: () => boolean;
  /** Many starts one after the other: nothing else begins while they last, also while everything is off. */
  cycles: () => PageCycles;
  /** A run of this job is over and filed. */
  onOver: (job: string) => void;
}

/** A request that may begin, the job it goes to, and the moment it was asked for. */
export interface Permitted {
  prepared: PreparedRun;
  job: string;
  asked: EpochToken;
}

export const NO_BENCH = "No bench file was given: start the daemon with --bench. Nothing was touched.";

/** The checks that a page's request has to pass before something comes on: one at a time, permitted as it was shown, before any off. */
export class RunStarts {
  readonly #options: RunStartsOptions;
  #active: ActiveRun | undefined;
  #busy = false;
  #closed = false;

  constructor(options: RunStartsOptions) {
    this.#options = options;
  }

  /** The run that is on, or is being ended. */
  get active(): ActiveRun | undefined {
    return this.#active;
  }

  /** True while a run is on or a request is under way: the links are in use. */
  get isInUse(): boolean {
    return this.#active !== undefined || this.#busy || this.#options.cycles().isOn;
  }

  /** Nothing is begun any more. */
  close(): void {
    this.#closed = true;
  }

  /** Throws, in words, where a request cannot be taken now. */
  mustBeFree(): void {
    if (this.#active !== undefined) throw new Error("A run is already in progress; its outputs are unchanged.");
    if (this.#options.isSweepOn()) throw new Error("A sweep is already in progress; end it first.");
    if (this.#options.cycles().isOn)
      throw new Error("A series of starts is in progress and switches on again by itself; end it first.");
    if (this.#busy) throw new Error("Another request is being prepared; try again in a moment. Nothing was energised.");
    if (this.#closed) throw new Error("The daemon is ending; nothing was energised.");
  }

  /** Does this with every other request refused meanwhile. */
  async alone<T>(work: () => Promise<T>): Promise<T> {
    this.#busy = true;
    try {
      return await work();
    } finally {
      this.#busy = false;
    }
  }

  /** Connects the instruments anew and asks the permit; nothing is energised. */
  async prepare(request: RunRequest): Promise<PreparedRun> {
    const { desk, links } = this.#options;
    const { bench, drivers, ownDrivers = {}, data } = desk;
    if (bench === null) throw new Error(NO_BENCH);
    this.mustBeFree();
    return await this.alone(async () => {
      try {
        const board = request.board === null ? desk.board : boardFromText(request.board);
        if (request.task?.task === "margin") railsToWatch(bench, board, request.task.rail);
        const prepared = await prepareRun(links().client, {
          bench,
          drivers,
          ownDrivers,
          board,
          coldOhms: request.coldOhms,
          ...(await filedForRun(data.store, request)),
          conditions: request.conditions,
          waiver: request.waiver,
          fourWire: request.fourWire ?? [],
          boardCelsius: request.boardCelsius ?? null,
          ...wishOf(request.task ?? null, request),
        });
        links().take({ instruments: prepared.instruments, feeds: prepared.feeds }, prepared.warnings);
        return prepared;
      } catch (cause) {
        // The links were closed to be opened anew: the live figures come back when the instruments do.
        if (!(cause instanceof BenchError && cause.code === "bad-input")) links().later();
        throw cause;
      }
    });
  }

  /** Prepares and asks the permit again: what was shown and confirmed, and nothing else, may begin. */
  async permitted(request: RunRequest, confirmed: Confirmed): Promise<Permitted | WireAnswer> {
    const { epoch, show } = this.#options;
    const asked = epoch.token;
    const prepared = await this.prepare(request);
    show.permit(prepared.permit);
    const refusal = epoch.hasRisenSince(asked) ? CUT_BEFORE : startRefusal(prepared, confirmed);
    if (refusal !== null) return refusal;
    return await this.alone(async () => {
      const job = await this.jobFor(request.job, prepared.request.board?.name ?? "unknown board");
      return epoch.hasRisenSince(asked) ? CUT_BEFORE : { prepared, job, asked };
    });
  }

  async start({ request, confirmed }: Extract<WireCommand, { type: "start-run" }>): Promise<WireAnswer> {
    const permitted = await this.permitted(request, confirmed);
    if ("result" in permitted) return permitted;
    const { task = null } = request;
    if (task?.task === "cycle") return await this.#options.cycles().start(permitted, task);
    const run = await this.begin(permitted, purposeOf(task), this.#railsOf(permitted.prepared, task));
    return { result: "started", run: run.header.run };
  }

  /** Energises. An off that came since the start was asked for ends it before, or at once. */
  async begin(
    { prepared, job, asked }: Permitted,
    purpose: RunPurpose,
    rails: MarginRails | null = null,
  ): Promise<ActiveRun> {
    const { desk, show, links, permits, epoch, isSweepOn } = this.#options;
    const { store, runDirectory } = desk.data;
    if (epoch.hasRisenSince(asked)) throw new Error("Off was requested before the run began. Nothing was energised.");
    if (purpose !== "sweep" && isSweepOn()) throw new Error("A sweep began in the meantime. Nothing was energised.");
    return await this.alone(async () => {
      const run = await ActiveRun.start({
        client: links().client,
        store,
        job,
        header: runHeader(prepared, purpose),
        armDirectory: runDirectory,
        // Nobody is asked again and again: a start that its limit does not carry ends the series.
        confirmsRaises: purpose !== "cycle",
        onBegin: (begun) => {
          permits.useUp();
          show.began(begun.header, job);
          rails?.follow(begun);
          this.#follow(begun, rails);
        },
      });
      // One that came while the run was being started may have found nothing to cut.
      if (epoch.hasRisenSince(asked)) void links().client.cut("the page");
      return run;
    });
  }

  /** The job that was asked for, or a new one for this board. */
  async jobFor(wanted: string | null, board: string): Promise<string> {
    const { store } = this.#options.desk.data;
    return wanted === null ? await store.newJob({ board }) : await store.findJob(wanted);
  }

  /** The rails that are read at the steps of a margin run; null for another run, and where there is none to read. */
  #railsOf({ request }: PreparedRun, task: TaskWish | null): MarginRails | null {
    if (task?.task !== "margin") return null;
    const rails = railsToWatch(request.bench, request.board, task.rail);
    if (rails.length === 0) return null;
    const { show, links } = this.#options;
    return new MarginRails(new RailWatch(links().client, rails, (sentence) => show.say("warn", sentence)));
  }

  #follow(run: ActiveRun, rails: MarginRails | null): void {
    const { show } = this.#options;
    this.#active = run;
    const of = { run: run.header.run, job: run.job, startedAt: run.header.startedAt };
    run.on("progress", (events, progress) => show.progress(events, progress));
    run.on("holding", (verdict) => show.judged(verdict, of));
    void run.done.then((result) => this.#onDone(run, result, rails));
  }

  #onDone(ended: ActiveRun, result: RunResult, rails: MarginRails | null): void {
    const { show, onOver } = this.#options;
    this.#active = undefined;
    const { run, startedAt } = result.header;
    // Nothing came of it: there is no draw to be judged.
    if (result.endedAtMs !== null && isVerdict(result.verdict))
      show.judged(result.verdict, { run, job: result.job, startedAt }, result.outcome);
    const told = taskLines(result.header, result.outcome, () => ended.traces(), rails?.steps);
    show.ended(result.outcome, { run, atMs: result.endedAtMs ?? 0, told });
    for (const note of result.notes ?? []) show.say("info", note);
    if (result.recordTrouble !== null) show.say("error", `The record is incomplete: ${result.recordTrouble}`);
    onOver(result.job);
  }
}
