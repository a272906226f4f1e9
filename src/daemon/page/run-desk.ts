import type { Clock } from "../../../shared/clock.ts";
import { Epoch } from "../../../shared/epoch.ts";
import type { BenchFile } from "../../../shared/files/bench-file.ts";
import type { BoardFile } from "../../../shared/files/board-file.ts";
import type { DriverFile, OwnDrivers } from "../../../shared/files/driver-file.ts";
import type { BeginSweep } from "../../../shared/sweep.ts";
import type { WireAnswer, WireCommand, WireDown, WireSnapshot } from "../../../shared/wire.ts";
import type { RunRequest } from "../../../shared/wire-request.ts";
import { messageOf } from "../../../shared/words/message-of.ts";
import type { PageBench, PageBoard, WireParty, WireRecord } from "../../wire/bench-facade.ts";
import type { PageJobs } from "../../wire/job-desk.ts";
import type { CutWord } from "../process/bench-process.ts";
import type { DataFolder } from "../process/data-folder.ts";
import { PROGRAM } from "../process/program.ts";
import { type ReadsAside, readsAside } from "../reads/reads-aside.ts";
import { sayMark } from "../run/say-mark.ts";
import { openRun } from "../run/stored-run.ts";
import { answerOnce, answerToCut } from "./answers.ts";
import { boardForPage } from "./board-for-page.ts";
import { wireBoard } from "./board-on-page.ts";
import { jobsForPage } from "./jobs-for-page.ts";
import { DeskLinks } from "./links-of-desk.ts";
import { PageCycles } from "./page-cycles.ts";
import { PageSweep } from "./page-sweep.ts";
import { deskRecord, wireJobs } from "./record-of-desk.ts";
import { RunStarts } from "./run-starts.ts";
import { PageShow } from "./show-page.ts";
import { ShownPermits } from "./shown-permits.ts";
import { SweepStarts } from "./sweep-starts.ts";
import { takeNull } from "./take-null.ts";
import { wirePreview } from "./wire-preview.ts";

export interface RunDeskOptions {
  data: DataFolder;
  /** null: no bench file was given; the record can be looked at, nothing can be energised. */
  bench: BenchFile | null;
  drivers: DriverFile[];
  ownDrivers?: OwnDrivers;
  board: BoardFile | null;
  /** The board file, beside which its photographs lie; null: it came from no file. */
  boardFile: string | null;
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
  readonly #runs: RunStarts;
  readonly #cycles: PageCycles;
  readonly #sweeps: SweepStarts;
  readonly #aside: ReadsAside;
  /** Raised by each cut and each stop; a start that was asked for before one does not go on after it. */
  readonly #epoch = new Epoch();

  constructor(options: RunDeskOptions) {
    this.#options = options;
    this.record = deskRecord(options.data.store);
    this.board = boardForPage(options.board, options.boardFile, (board) =>
      this.#show.send({ type: "board", board: wireBoard(board) }),
    );
    this.#aside = readsAside(options.data.store);
    this.jobsForPage = jobsForPage({
      store: options.data.store,
      reads: this.#aside.reads,
      board: () => options.board?.name ?? null,
      boardFile: () => options.board,
      onChange: (job) => void this.#changed(job),
      onRepair: (job) => {
        this.#permits.boardChanged(job);
        // Hands are on the board: it must not come on by itself.
        this.#cycles.stop("a repair that was filed");
      },
    });
    this.#sweep = new PageSweep({
      show: this.#show,
      store: options.data.store,
      begin: options.beginSweep,
      clock: options.clock,
      onOver: (job) => void this.#changed(job),
    });
    const isSweepOn = (): boolean => this.#sweep.isOn;
    const links = (): DeskLinks => this.#links;
    this.#runs = new RunStarts({
      desk: options,
      show: this.#show,
      links,
      permits: this.#permits,
      epoch: this.#epoch,
      isSweepOn,
      cycles: () => this.#cycles,
      onOver: (job) => void this.#changed(job),
    });
    this.#sweeps = new SweepStarts({
      desk: options,
      links,
      runs: this.#runs,
      sweep: this.#sweep,
      epoch: this.#epoch,
    });
    this.#cycles = new PageCycles({
      show: this.#show,
      store: options.data.store,
      clock: options.clock,
      epoch: this.#epoch,
      runs: () => this.#runs,
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
      hasRun: () => this.#runs.active !== undefined,
      isInUse: () => this.#runs.isInUse || isSweepOn(),
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
        const run = await openRun(store, newest.id);
        if (run !== null) await this.#show.last(run, newest.id);
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

  /** True while a run or a sweep is on, one is being prepared, or an output is not known to be off. */
  get isInUse(): boolean {
    return this.#runs.isInUse || this.#sweep.isOn || this.#show.mayBeOn;
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

  /**
   * The page in control is gone: a run that ends by itself goes on, one that is held on has nobody left to hold it. One
   * that is still being prepared does not begin: whoever asked for it does not see it come on.
   */
  operatorGone(): void {
    const { active, isInUse } = this.#runs;
    this.#cycles.stop("the page in control, which closed or went silent");
    if (active === undefined && isInUse) this.#epoch.raise();
    if (active?.header.plan.keepOn === true || this.#sweep.isPowered)
      void this.cut("the page in control, which closed or went silent");
  }

  needsWatch(): boolean {
    return this.#runs.isInUse || this.#sweep.isPowered || this.#show.mayBeOn;
  }

  watchTaken(by: string): void {
    this.#show.say("warn", `${by} is in control from now on and watches what is on.`);
  }

  /** Cuts, and ends the bench process once it has proved everything off. */
  async close(): Promise<void> {
    this.#runs.close();
    this.#links.close();
    void this.cut("the end of the daemon");
    await this.#links.client.close();
    await this.#runs.active?.done;
    await this.#sweep.over();
    await this.#cycles.over();
    this.#aside.end();
  }

  /**
   * Off, at once; a start that is being prepared does not go on. It is sent in this turn; the answer says whether the
   * bench process took it.
   */
  async cut(by: string): Promise<CutWord> {
    this.#epoch.raise();
    const word = this.#links.client.cut(by);
    this.#sweep.cut(by);
    this.#cycles.stop(by);
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
        this.#cycles.stop("the page");
        this.#show.say("info", "An orderly end was requested on the page.");
        // A sweep that is not told takes an orderly end for its board's longest on-time, and comes back.
        if (this.#sweep.isOn) this.#sweep.stop();
        else await this.#links.client.stop("the page");
        return { result: "done" };
      case "answer":
        return await answerOnce(this.#show, this.#links.client, command);
      case "preview": {
        const prepared = await this.#runs.prepare(command.request);
        this.#permits.show(session, command.request, this.#options.bench);
        this.#show.permit(prepared.permit);
        return { result: "preview", preview: wirePreview(prepared, command.request.task ?? null) };
      }
      case "start-run":
        return this.#refusal(command, session) ?? (await this.#runs.start(command));
      case "start-sweep":
        if (command.powered === null) return await this.#sweeps.start(command);
        return this.#refusal(command, session) ?? (await this.#sweeps.start(command));
      case "say-sweep":
        return this.#sweep.say(command);
      case "null-leads":
        return await takeNull({ desk: this.#options, links: this.#links, runs: this.#runs, job: command.job });
      case "mark":
        return this.#mark(command.text);
      default:
        return command satisfies never;
    }
  }

  /** Why the permit that this page was shown is not one for this start. */
  #refusal({ request }: { request: RunRequest }, session: string): WireAnswer | null {
    return this.#permits.refusal(session, request, this.#options.bench);
  }

  #mark(text: string | null): WireAnswer {
    const { active } = this.#runs;
    const refused = this.#sweep.isOn ? this.#sweep.mark(text) : null;
    if (this.#sweep.isOn) return refused === null ? { result: "done" } : noMark(refused);
    if (active === undefined) return noMark("The board is not on; nothing was filed.");
    const answer = sayMark(active, text);
    if ("refused" in answer) return noMark(answer.refused);
    this.#show.say("info", `Marked: ${answer.filed}.`);
    return { result: "done" };
  }

  /** Tells the pages of something new in a job, and the list of jobs as it is now. */
  async #changed(job: string): Promise<void> {
    this.#show.send({ type: "job-changed", job });
    const jobs = await wireJobs(this.#options.data.store).catch(() => null);
    if (jobs !== null) this.#show.jobs(jobs);
  }
}

const noMark = (because: string): WireAnswer => ({ result: "refused", code: "no-mark", because });
