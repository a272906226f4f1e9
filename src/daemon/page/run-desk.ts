import { BenchError } from "../../../shared/bench-error.ts";
import type { BenchFile } from "../../../shared/bench-file.ts";
import type { BoardFile } from "../../../shared/board-file.ts";
import type { Clock } from "../../../shared/clock.ts";
import type { DriverFile, OwnDrivers } from "../../../shared/driver-file.ts";
import { Epoch, type EpochToken } from "../../../shared/epoch.ts";
import { messageOf } from "../../../shared/message-of.ts";
import { isVerdict } from "../../../shared/nothing-learned.ts";
import type { RunPurpose } from "../../../shared/run-record.ts";
import type { BeginSweep } from "../../../shared/sweep.ts";
import type { RunRequest, WireAnswer, WireCommand, WireDown, WireSnapshot } from "../../../shared/wire.ts";
import type { PageBench, PageBoard, WireParty, WireRecord } from "../../wire/bench-facade.ts";
import type { PageJobs } from "../../wire/job-desk.ts";
import type { CutWord } from "../process/bench-process.ts";
import type { DataFolder } from "../process/data-folder.ts";
import { PROGRAM } from "../process/program.ts";
import { ActiveRun, type RunResult } from "../run/active-run.ts";
import { type PreparedRun, prepareRun, runHeader } from "../run/prepare-run.ts";
import { type Confirmed, startRefusal } from "../run/start-refusal.ts";
import { storedRun } from "../run/stored-run.ts";
import { sweepBench } from "../sweep/sweep-power.ts";
import { answerToCut, CUT_BEFORE, NO_QUESTION } from "./answers.ts";
import { boardForPage } from "./board-for-page.ts";
import { boardFromText } from "./board-from-text.ts";
import { wireBoard } from "./board-on-page.ts";
import { filedForRun } from "./filed-for-run.ts";
import { jobsForPage } from "./jobs-for-page.ts";
import { DeskLinks } from "./links-of-desk.ts";
import { PageSweep, SWEEP_WATCH_SECONDS } from "./page-sweep.ts";
import { deskRecord, wireJobs } from "./record-of-desk.ts";
import { PageShow } from "./show-page.ts";
import { ShownPermits } from "./shown-permits.ts";
import { wirePreview } from "./wire-preview.ts";

export interface RunDeskOptions {
  data: DataFolder;
  /** null: no bench file was given; the record can be looked at, nothing can be energised. */
  bench: BenchFile | null;
  drivers: DriverFile[];
  ownDrivers?: OwnDrivers;
  board: BoardFile | null;
  /** Where the board file and its photographs lie; null: it came from no file. */
  boardFolder: string | null;
  simulated: boolean;
  /** The machine of a sweep, and the clock it goes by. */
  beginSweep: BeginSweep;
  clock: Clock;
  /** The file that is started as the bench process, where it is not the program's own. */
  benchProgram?: string;
}

/**
 * The daemon's bench as the page sees it: one bench process, at most one run, live figures between runs. Commands come
 * from the wire, already checked for who may give them; a cut is written on before anything is awaited.
 */
export class RunDesk implements PageBench {
  readonly record: WireRecord;
  readonly jobsForPage: PageJobs;
  readonly board: PageBoard;
  readonly #options: RunDeskOptions;
  readonly #show = new PageShow();
  readonly #sweep: PageSweep;
  readonly #links: DeskLinks;
  readonly #permits = new ShownPermits();
  #active: ActiveRun | undefined;
  #busy = false;
  #closed = false;
  /** Raised by each cut and each stop; a start that was asked for before one does not go on after it. */
  readonly #epoch = new Epoch();

  constructor(options: RunDeskOptions) {
    this.#options = options;
    this.record = deskRecord(options.data.store);
    this.board = boardForPage(options.board, options.boardFolder);
    this.jobsForPage = jobsForPage({
      store: options.data.store,
      board: () => options.board?.name ?? null,
      onChange: (job) => void this.#changed(job),
      onRepair: (job) => this.#permits.boardChanged(job),
    });
    this.#sweep = new PageSweep({
      show: this.#show,
      store: options.data.store,
      begin: options.beginSweep,
      clock: options.clock,
      onOver: (job) => void this.#changed(job),
    });
    const { bench, drivers, ownDrivers = {}, board, simulated, data, benchProgram } = options;
    this.#links = new DeskLinks({
      show: this.#show,
      bench,
      drivers,
      ownDrivers,
      board,
      simulated,
      armDirectory: data.runDirectory,
      ...(benchProgram === undefined ? {} : { benchProgram }),
      hasRun: () => this.#active !== undefined,
      isInUse: () => this.#active !== undefined || this.#busy || this.#sweep.isOn,
    });
  }

  /** Shows the last run. */
  async open(): Promise<void> {
    const { store } = this.#options.data;
    const jobs = await wireJobs(store);
    this.#show.jobs(jobs);
    const [newest] = jobs;
    if (newest !== undefined) {
      try {
        const run = await storedRun(store, newest.id);
        if (run !== null) this.#show.last(run, newest.id);
      } catch (cause) {
        // A record that cannot be read keeps nobody from the bench.
        this.#show.say("warn", `The last run cannot be shown: ${messageOf(cause)}`);
      }
    }
  }

  /** Begins to connect the instruments for live figures, and again every few seconds while that fails. */
  connect(): void {
    void this.#links.connect();
  }

  snapshot(): WireSnapshot {
    const { board } = this.#options;
    return {
      program: PROGRAM,
      bench: this.#links.wireBench(),
      board: wireBoard(board),
      ...this.#show.snapshot(),
    };
  }

  subscribe(listener: (message: WireDown) => void): () => void {
    return this.#show.subscribe(listener);
  }

  async command(command: WireCommand, { session }: WireParty): Promise<WireAnswer> {
    if (command.type === "cut") return answerToCut(await this.cut("the page"));
    try {
      return await this.#do(command, session);
    } catch (cause) {
      const because = messageOf(cause);
      return {
        result: "refused",
        code: cause instanceof Error && "code" in cause ? String(cause.code) : "failed",
        because,
      };
    }
  }

  /** The page in control is gone: a run that ends by itself goes on, one that is held on has nobody left to hold it. */
  operatorGone(): void {
    if (this.#active?.header.plan.keepOn === true || this.#sweep.isPowered)
      void this.cut("the page in control, which closed or went silent");
  }

  /** Cuts, and ends the bench process once it has proved everything off. */
  async close(): Promise<void> {
    this.#closed = true;
    this.#links.close();
    void this.cut("the end of the daemon");
    await this.#links.client.close();
    await this.#active?.done;
    await this.#sweep.over();
  }

  /**
   * Off, at once; a start that is being prepared does not go on. It is sent in this turn; the answer says whether the
   * bench process took it.
   */
  async cut(by: string): Promise<CutWord> {
    this.#epoch.raise();
    const word = this.#links.client.cut(by);
    this.#sweep.cut(by);
    this.#show.say("warn", `Cut by ${by}.`);
    const said = await word;
    // A daemon that only shows the record has no supply that could be on.
    if (!said.taken && this.#options.bench !== null)
      this.#show.say("error", `${said.because} Switch the supply off by its own switch.`);
    return said;
  }

  async #do(command: Exclude<WireCommand, { type: "cut" }>, session: string): Promise<WireAnswer> {
    switch (command.type) {
      case "stop":
        this.#epoch.raise();
        this.#show.say("info", "An orderly end was requested on the page.");
        // A sweep that is not told takes an orderly end for its board's longest on-time, and comes back.
        if (this.#sweep.isOn) this.#sweep.stop();
        else await this.#links.client.stop("the page");
        return { result: "done" };
      case "answer":
        return await this.#answer(command);
      case "preview": {
        const prepared = await this.#prepare(command.request);
        this.#permits.show(session, command.request, this.#options.bench);
        this.#show.permit(prepared.permit);
        return { result: "preview", preview: wirePreview(prepared) };
      }
      case "start-run":
        return this.#permits.refusal(session, command.request, this.#options.bench) ?? (await this.#start(command));
      case "start-sweep":
        if (command.powered === null) return await this.#startSweep(command);
        return (
          this.#permits.refusal(session, command.request, this.#options.bench) ?? (await this.#startSweep(command))
        );
      case "say-sweep":
        return this.#sweep.say(command);
      default:
        return command satisfies never;
    }
  }

  /** Hands an answer on once. The question leaves the pages before it: the next one may come before the answer is done. */
  async #answer({ question, yes }: Extract<WireCommand, { type: "answer" }>): Promise<WireAnswer> {
    const asked = this.#show.answered(question);
    if (asked === null) return NO_QUESTION;
    try {
      await this.#links.client.answer(question, yes);
      return { result: "done" };
    } catch (cause) {
      this.#show.askAgain(asked);
      throw cause;
    }
  }

  async #prepare(request: RunRequest): Promise<PreparedRun> {
    const { bench, drivers, ownDrivers = {} } = this.#options;
    const { store } = this.#options.data;
    if (bench === null) throw new Error("No bench file was given: start the daemon with --bench. Nothing was touched.");
    if (this.#active !== undefined) throw new Error("A run is already in progress; its outputs are unchanged.");
    if (this.#sweep.isOn) throw new Error("A sweep is already in progress; end it first.");
    if (this.#busy) throw new Error("Another request is being prepared; try again in a moment. Nothing was energised.");
    if (this.#closed) throw new Error("The daemon is ending; nothing was energised.");
    this.#busy = true;
    try {
      const board = request.board === null ? this.#options.board : boardFromText(request.board);
      const prepared = await prepareRun(this.#links.client, {
        bench,
        drivers,
        ownDrivers,
        board,
        coldOhms: request.coldOhms,
        ...(await filedForRun(store, request)),
        conditions: request.conditions,
        waiver: request.waiver,
        watchSeconds: request.watchSeconds,
        keepOn: request.keepOn,
      });
      this.#links.take({ instruments: prepared.instruments, feeds: prepared.feeds }, prepared.warnings);
      return prepared;
    } catch (cause) {
      // The links were closed to be opened anew: the live figures come back when the instruments do.
      if (!(cause instanceof BenchError && cause.code === "bad-input")) this.#links.later();
      throw cause;
    } finally {
      this.#busy = false;
    }
  }

  async #start({ request, confirmed }: Extract<WireCommand, { type: "start-run" }>): Promise<WireAnswer> {
    const permitted = await this.#permitted(request, confirmed);
    if ("result" in permitted) return permitted;
    const { prepared, job, asked } = permitted;
    const run = await this.#begin(prepared, { job, purpose: "powerup", asked });
    return { result: "started", run: run.header.run };
  }

  async #startSweep({ request, powered }: Extract<WireCommand, { type: "start-sweep" }>): Promise<WireAnswer> {
    const board = request.board === null ? this.#options.board : boardFromText(request.board);
    if (board === null || Object.keys(board.rails).length === 0)
      throw new Error("A sweep needs a board file that names the rails. Nothing was touched.");
    const wish = { ...request, keepOn: true, watchSeconds: request.watchSeconds ?? SWEEP_WATCH_SECONDS };
    if (powered === null) return await this.#coldSweep(request, board);
    const permitted = await this.#permitted(wish, powered.confirmed);
    if ("result" in permitted) return permitted;
    const { prepared, job, asked } = permitted;
    return await this.#beginSweep({ board, job, request, prepared, asked });
  }

  /** The links anew, and every output found off: ohms are for a board that nobody powers. */
  async #coldSweep(request: RunRequest, board: BoardFile): Promise<WireAnswer> {
    const { bench, drivers, ownDrivers = {} } = this.#options;
    const asked = this.#epoch.token;
    if (bench === null) throw new Error("No bench file was given: start the daemon with --bench. Nothing was touched.");
    if (this.#active !== undefined || this.#busy || this.#sweep.isOn || this.#closed)
      throw new Error("Something else is in progress; end it first. Nothing was touched.");
    this.#busy = true;
    try {
      const feeds = Object.keys(bench.feeds).filter((feed) => Object.hasOwn(board.feeds, feed));
      const found = await this.#links.client.connect({ bench, drivers, ownDrivers, feeds });
      this.#links.take(found, []);
      const left = found.feeds.find((each) => each.output !== "off");
      if (left !== undefined)
        throw new Error(
          `Ohms cannot be measured until feed "${left.feed}" is confirmed off; switch it off at the supply.`,
        );
      const job = await this.#jobFor(request.job, board.name);
      return await this.#beginSweep({ board, job, request, prepared: null, asked });
    } catch (cause) {
      this.#links.later();
      throw cause;
    } finally {
      this.#busy = false;
    }
  }

  async #beginSweep(of: {
    board: BoardFile;
    job: string;
    request: RunRequest;
    prepared: PreparedRun | null;
    asked: EpochToken;
  }): Promise<WireAnswer> {
    const { board, job, request, prepared, asked } = of;
    const { bench } = this.#options;
    if (bench === null || this.#epoch.hasRisenSince(asked)) return CUT_BEFORE;
    const { instruments } = prepared ?? this.#links.found;
    const side = sweepBench(this.#links.client, async () => {
      if (prepared === null) throw new Error("A cold sweep energises nothing.");
      return await this.#begin(prepared, { job, purpose: "sweep", asked });
    });
    const { coldOhms } = request;
    const sweep = await this.#sweep.start({ bench, board, job, coldOhms, prepared, instruments, side });
    return { result: "started", run: sweep };
  }

  async #jobFor(wanted: string | null, board: string): Promise<string> {
    const { store } = this.#options.data;
    return wanted === null ? await store.newJob({ board }) : await store.findJob(wanted);
  }

  /** Prepares and asks the permit again: what was shown and confirmed, and nothing else, may begin. */
  async #permitted(
    request: RunRequest,
    confirmed: Confirmed,
  ): Promise<{ prepared: PreparedRun; job: string; asked: EpochToken } | WireAnswer> {
    const asked = this.#epoch.token;
    const prepared = await this.#prepare(request);
    this.#show.permit(prepared.permit);
    const refusal = this.#epoch.hasRisenSince(asked) ? CUT_BEFORE : startRefusal(prepared, confirmed);
    if (refusal !== null) return refusal;
    this.#busy = true;
    try {
      const job = await this.#jobFor(request.job, prepared.request.board?.name ?? "unknown board");
      return this.#epoch.hasRisenSince(asked) ? CUT_BEFORE : { prepared, job, asked };
    } finally {
      this.#busy = false;
    }
  }

  /** Energises. An off that came since the start was asked for ends it before, or at once. */
  async #begin(
    prepared: PreparedRun,
    { job, purpose, asked }: { job: string; purpose: RunPurpose; asked: EpochToken },
  ): Promise<ActiveRun> {
    const { store, runDirectory } = this.#options.data;
    if (this.#epoch.hasRisenSince(asked))
      throw new Error("Off was requested before the run began. Nothing was energised.");
    if (purpose !== "sweep" && this.#sweep.isOn)
      throw new Error("A sweep began in the meantime. Nothing was energised.");
    this.#busy = true;
    try {
      const run = await ActiveRun.start({
        client: this.#links.client,
        store,
        job,
        header: runHeader(prepared, purpose),
        armDirectory: runDirectory,
        confirmsRaises: true,
        onBegin: (begun) => {
          this.#permits.useUp();
          this.#show.began(prepared.plan, { run: begun.header.run, job, startedAt: begun.header.startedAt });
          this.#follow(begun);
        },
      });
      // One that came while the run was being started may have found nothing to cut.
      if (this.#epoch.hasRisenSince(asked)) void this.#links.client.cut("the page");
      return run;
    } finally {
      this.#busy = false;
    }
  }

  #follow(run: ActiveRun): void {
    this.#active = run;
    const of = { run: run.header.run, job: run.job, startedAt: run.header.startedAt };
    run.on("progress", (events, progress) => this.#show.progress(events, progress));
    run.on("holding", (verdict) => this.#show.judged(verdict, of));
    void run.done.then((result) => this.#onDone(result));
  }

  async #onDone(result: RunResult): Promise<void> {
    this.#active = undefined;
    const { run, startedAt } = result.header;
    // Nothing came of it: there is no draw to be judged.
    if (result.endedAtMs !== null && isVerdict(result.verdict))
      this.#show.judged(result.verdict, { run, job: result.job, startedAt }, result.outcome);
    this.#show.ended(result.outcome, { run, atMs: result.endedAtMs ?? 0 });
    if (result.recordTrouble !== null) this.#show.say("error", `The record is incomplete: ${result.recordTrouble}`);
    await this.#changed(result.job);
  }

  /** Tells the pages of something new in a job, and the list of jobs as it is now. */
  async #changed(job: string): Promise<void> {
    this.#show.send({ type: "job-changed", job });
    const jobs = await wireJobs(this.#options.data.store).catch(() => null);
    if (jobs !== null) this.#show.jobs(jobs);
  }
}
