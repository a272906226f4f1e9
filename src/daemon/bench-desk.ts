import { BenchError } from "../../shared/bench-error.ts";
import type { BenchFile } from "../../shared/bench-file.ts";
import type { BoardFile } from "../../shared/board-file.ts";
import type { DriverFile } from "../../shared/driver-file.ts";
import type { FoundFeed, FoundInstrument } from "../../shared/ipc.ts";
import type { WireAnswer, WireCommand, WireDown, WireSnapshot } from "../../shared/wire.ts";
import type { BenchFacade, WireRecord } from "../wire/bench-facade.ts";
import type { JobDesk } from "../wire/job-desk.ts";
import { ActiveRun, type RunResult } from "./active-run.ts";
import { BenchClient } from "./bench-client.ts";
import { boardFromText } from "./board-from-text.ts";
import { CAUTIONS } from "./cautions.ts";
import type { DataFolder } from "./data-folder.ts";
import { wireBoard } from "./desk-board.ts";
import { jobDesk } from "./desk-job.ts";
import { deskRecord, wireJobs } from "./desk-record.ts";
import { DeskShow } from "./desk-show.ts";
import { coldOfJob } from "./job-cold.ts";
import { type PreparedRun, prepareRun, runHeader } from "./prepare-run.ts";
import { PROGRAM } from "./program.ts";
import { storedRun } from "./stored-run.ts";
import { wireBench } from "./wire-bench.ts";

export interface BenchDeskOptions {
  data: DataFolder;
  /** null: no bench file was given; the record can be looked at, nothing can be energised. */
  bench: BenchFile | null;
  drivers: DriverFile[];
  board: BoardFile | null;
  simulated: boolean;
}

const RECONNECT_MS = 5000;
/** A lost bench process is replaced after this; at once could be over and over. */
const REPLACE_MS = 1000;

/**
 * The daemon's bench as the page sees it: one bench process, at most one run, live figures between runs. Commands come
 * from the wire, already checked for who may give them; a cut is written on before anything is awaited.
 */
export class BenchDesk implements BenchFacade {
  readonly record: WireRecord;
  readonly jobDesk: JobDesk;
  readonly #options: BenchDeskOptions;
  readonly #show = new DeskShow();
  #client: BenchClient;
  #found: { instruments: FoundInstrument[]; feeds: FoundFeed[] } = { instruments: [], feeds: [] };
  #warnings: string[] = [];
  #active: ActiveRun | undefined;
  #busy = false;
  #closed = false;
  /** Rises with each cut; a start asked for before one does not go on after it. */
  #cuts = 0;
  #retry: NodeJS.Timeout | undefined;

  constructor(options: BenchDeskOptions) {
    this.#options = options;
    this.record = deskRecord(options.data.store);
    this.jobDesk = jobDesk({
      store: options.data.store,
      board: () => options.board?.name ?? null,
      onChange: (job) => void this.#changed(job),
    });
    this.#client = this.#newClient();
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
        this.#show.say(
          "warn",
          `The last run cannot be shown: ${cause instanceof Error ? cause.message : String(cause)}`,
        );
      }
    }
  }

  /** Begins to connect the instruments for live figures, and again every few seconds while that fails. */
  connect(): void {
    void this.#connect();
  }

  snapshot(): WireSnapshot {
    const { board } = this.#options;
    return {
      program: PROGRAM,
      bench: this.#bench(),
      board: wireBoard(board),
      ...this.#show.snapshot(),
    };
  }

  subscribe(listener: (message: WireDown) => void): () => void {
    return this.#show.subscribe(listener);
  }

  async command(command: WireCommand): Promise<WireAnswer> {
    if (command.type === "cut") {
      this.cut("the page");
      return { result: "done" };
    }
    try {
      return await this.#do(command);
    } catch (cause) {
      const because = cause instanceof Error ? cause.message : String(cause);
      return {
        result: "refused",
        code: cause instanceof Error && "code" in cause ? String(cause.code) : "failed",
        because,
      };
    }
  }

  /** The page in control is gone: a run that ends by itself goes on, one that is held on has nobody left to hold it. */
  operatorGone(): void {
    if (this.#active?.header.plan.keepOn === true) this.cut("the page in control, which closed or went silent");
  }

  /** Cuts, and ends the bench process once it has proved everything off. */
  async close(): Promise<void> {
    this.#closed = true;
    clearTimeout(this.#retry);
    this.cut("the end of the daemon");
    await this.#client.close();
    await this.#active?.done;
  }

  /** Off, at once; a start that is being prepared does not go on. */
  cut(by: string): void {
    this.#cuts += 1;
    this.#client.cut(by);
    this.#show.say("warn", `Cut by ${by}.`);
  }

  async #do(command: Exclude<WireCommand, { type: "cut" }>): Promise<WireAnswer> {
    switch (command.type) {
      case "stop":
        await this.#client.stop("the page");
        return { result: "done" };
      case "answer":
        await this.#client.answer(command.question, command.yes);
        this.#show.ask(null);
        return { result: "done" };
      case "preview": {
        const prepared = await this.#prepare(command.request);
        this.#show.permit(prepared.permit);
        return {
          result: "preview",
          preview: {
            permit: prepared.permit,
            feeds: prepared.plan.feeds.map((each) => ({
              feed: each.feed,
              volts: each.nominalVolts,
              limitAmps: each.nominal.limitAmps,
              highestAmps: each.limitAmps,
            })),
            cautions: [...CAUTIONS, ...prepared.warnings],
          },
        };
      }
      case "start-run":
        return this.#start(command);
      default:
        return command satisfies never;
    }
  }

  async #prepare(request: Extract<WireCommand, { type: "preview" }>["request"]): Promise<PreparedRun> {
    const { bench, drivers } = this.#options;
    const { store } = this.#options.data;
    if (bench === null) throw new Error("No bench file was given: start the daemon with --bench. Nothing was touched.");
    if (this.#active !== undefined) throw new Error("A run is on already; its outputs are as they were.");
    if (this.#busy) throw new Error("Another request is being prepared; ask again in a moment. Nothing was energised.");
    if (this.#closed) throw new Error("The daemon is ending; nothing was energised.");
    this.#busy = true;
    try {
      const board = request.board === null ? this.#options.board : boardFromText(request.board);
      const prepared = await prepareRun(this.#client, {
        bench,
        drivers,
        board,
        coldOhms: request.coldOhms,
        filedCold: await coldOfJob(store, request.job === null ? null : await store.findJob(request.job)),
        conditions: request.conditions,
        waiver: request.waiver,
        watchSeconds: request.watchSeconds,
        keepOn: request.keepOn,
      });
      this.#take({ instruments: prepared.instruments, feeds: prepared.feeds }, prepared.warnings);
      return prepared;
    } catch (cause) {
      // The links were closed to be opened anew: the live figures come back when the instruments do.
      if (!(cause instanceof BenchError && cause.code === "bad-input")) this.#later(RECONNECT_MS);
      throw cause;
    } finally {
      this.#busy = false;
    }
  }

  async #start(command: Extract<WireCommand, { type: "start-run" }>): Promise<WireAnswer> {
    const cuts = this.#cuts;
    const prepared = await this.#prepare(command.request);
    this.#show.permit(prepared.permit);
    const refusal = this.#refusal(prepared, command, cuts);
    if (refusal !== null) return refusal;
    const { store, runDirectory } = this.#options.data;
    const header = runHeader(prepared, "powerup");
    this.#busy = true;
    try {
      const job =
        command.request.job === null
          ? await store.newJob({ board: prepared.request.board?.name ?? "unknown board" })
          : await store.findJob(command.request.job);
      const refused = this.#refusal(prepared, command, cuts);
      if (refused !== null) return refused;
      await ActiveRun.start({
        client: this.#client,
        store,
        job,
        header,
        armDirectory: runDirectory,
        confirmsRaises: true,
        onBegin: (run) => {
          this.#show.began(prepared.plan, { run: header.run, job });
          this.#follow(run);
        },
      });
      // One that came while the run was being started may have found nothing to cut.
      if (this.#cuts !== cuts) this.#client.cut("the page");
    } finally {
      this.#busy = false;
    }
    return { result: "started", run: header.run };
  }

  #refusal(
    prepared: PreparedRun,
    command: Extract<WireCommand, { type: "start-run" }>,
    cuts: number,
  ): WireAnswer | null {
    const refused = (code: string, because: string): WireAnswer => ({
      result: "refused",
      code,
      because: `${because}. Nothing was energised.`,
    });
    if (this.#cuts !== cuts) return refused("cut", "A cut came before the run began");
    if (!prepared.permit.granted) {
      return refused("permit", `The permit is not granted: ${prepared.permit.refusedBecause.join("; ")}`);
    }
    const shown = new Map(command.confirmed.map((each) => [each.feed, each]));
    const same = prepared.plan.feeds.every((each) => {
      const seen = shown.get(each.feed);
      return seen?.volts === each.nominalVolts && seen.limitAmps === each.nominal.limitAmps;
    });
    if (same && shown.size === prepared.plan.feeds.length) return null;
    return refused("changed", "The plan is not the one that was shown and confirmed; look at it again");
  }

  #follow(run: ActiveRun): void {
    this.#active = run;
    const of = { run: run.header.run, job: run.job };
    run.on("progress", (events, progress) => this.#show.progress(events, progress));
    run.on("holding", (verdict) => this.#show.judged(verdict, of));
    void run.done.then((result) => this.#onDone(result));
  }

  async #onDone(result: RunResult): Promise<void> {
    this.#active = undefined;
    const { run } = result.header;
    // Nothing came of it: there is no draw to be judged.
    if (result.endedAtMs !== null) this.#show.judged(result.verdict, { run, job: result.job });
    this.#show.ended(result.outcome, { run, atMs: result.endedAtMs ?? 0 });
    if (result.recordTrouble !== null) this.#show.say("error", `The record is not whole: ${result.recordTrouble}`);
    await this.#changed(result.job);
  }

  /** Tells the pages of something new in a job, and the list of jobs as it is now. */
  async #changed(job: string): Promise<void> {
    this.#show.send({ type: "job-changed", job });
    const jobs = await wireJobs(this.#options.data.store).catch(() => null);
    if (jobs !== null) this.#show.jobs(jobs);
  }

  #newClient(): BenchClient {
    const client = new BenchClient({ armDirectory: this.#options.data.runDirectory });
    client.on("idle", ({ readings }) => {
      if (this.#active === undefined) this.#show.frame(readings, { nowMs: readings.at(-1)?.atMs ?? 0, keep: false });
    });
    client.on("question", ({ type: _, ...question }) => this.#show.ask(question));
    client.on("alarm", ({ message, output }) => this.#show.alert(message, output));
    client.on("problem", ({ problem }) => {
      this.#show.say("warn", problem.message);
      // Between runs nobody else would notice that an instrument went away, and came back.
      if (problem.code !== "bad-message" && this.#active === undefined && !this.#busy)
        this.#away(problem.message, RECONNECT_MS);
    });
    client.on("lost", (why) => {
      this.#show.say("error", `${why}; what was on is switched off by the guardian`);
      this.#away(why, REPLACE_MS);
    });
    return client;
  }

  /** The instruments are out of reach: says so, and tries again. */
  #away(why: string, againMs: number): void {
    this.#found = { instruments: [], feeds: [] };
    this.#warnings = [why];
    this.#show.notKnown();
    this.#sendBench();
    this.#later(againMs);
  }

  async #connect(): Promise<void> {
    const { bench, board, drivers } = this.#options;
    if (bench === null || this.#closed) return;
    if (this.#busy || this.#active !== undefined) return this.#later(RECONNECT_MS);
    if (this.#client.isLost) this.#client = this.#newClient();
    const client = this.#client;
    try {
      const feeds = Object.keys(bench.feeds).filter((feed) => board === null || feed in board.feeds);
      this.#take(await client.connect({ bench, drivers, feeds }), []);
    } catch (cause) {
      // A lost process has said so itself, and has its successor under way.
      if (!client.isLost) this.#away(cause instanceof Error ? cause.message : String(cause), RECONNECT_MS);
    }
  }

  #later(ms: number): void {
    clearTimeout(this.#retry);
    if (!this.#closed) this.#retry = setTimeout(() => void this.#connect(), ms);
  }

  #take(found: { instruments: FoundInstrument[]; feeds: FoundFeed[] }, warnings: string[]): void {
    this.#found = found;
    this.#warnings = warnings;
    this.#show.notKnown();
    for (const each of found.feeds) this.#show.outputs.set(each.feed, each.output);
    for (const each of found.feeds)
      if (each.cutByUs)
        this.#show.say("warn", `${each.feed}: the output of ${each.supply} was found on and has been cut`);
    const outputs = [...this.#show.outputs.values()];
    if (outputs.length > 0 && outputs.every((output) => output === "off")) this.#show.foundOff();
    this.#sendBench();
  }

  #bench(): WireSnapshot["bench"] {
    const { bench, board, simulated } = this.#options;
    return wireBench({
      bench,
      board,
      found: this.#found,
      outputs: this.#show.outputs,
      warnings: this.#warnings,
      simulated,
    });
  }

  #sendBench(): void {
    this.#show.send({ type: "bench", bench: this.#bench() });
  }
}
