import type { BenchFile } from "../../shared/bench-file.ts";
import type { BoardFile } from "../../shared/board-file.ts";
import type { DrawVerdict } from "../../shared/draw-verdict.ts";
import type { DriverFile } from "../../shared/driver-file.ts";
import type { FoundFeed, FoundInstrument, RunProgress } from "../../shared/ipc.ts";
import type { PlanEvent } from "../../shared/plan.ts";
import type { FeedReading } from "../../shared/reading.ts";
import type { OutputState, WireAnswer, WireCommand, WireDown, WireLogLine, WireSnapshot } from "../../shared/wire.ts";
import type { BenchFacade, WireRecord } from "../wire/bench-facade.ts";
import { pictureAt, pictureEnded, runPicture } from "../wire/run-picture.ts";
import { ActiveRun, type RunResult } from "./active-run.ts";
import { BenchClient } from "./bench-client.ts";
import { boardFromText } from "./board-from-text.ts";
import { CAUTIONS } from "./cautions.ts";
import type { DataFolder } from "./data-folder.ts";
import { deskRecord, wireJobs } from "./desk-record.ts";
import { nextSteps } from "./next-steps.ts";
import { pictureOfRun } from "./picture-of-run.ts";
import { type PreparedRun, prepareRun, runHeader } from "./prepare-run.ts";
import { PROGRAM } from "./program.ts";
import { lastStoredRun } from "./stored-run.ts";
import { TraceRing } from "./trace-ring.ts";
import { wireBench } from "./wire-bench.ts";
import { wireReading } from "./wire-reading.ts";

export interface BenchDeskOptions {
  data: DataFolder;
  /** null: no bench file was given; the record can be looked at, nothing can be energised. */
  bench: BenchFile | null;
  drivers: DriverFile[];
  board: BoardFile | null;
  simulated: boolean;
}

const LOG_LENGTH = 100;
const RECONNECT_MS = 5000;

/**
 * The daemon's bench as the page sees it: one bench process, at most one run, live figures between runs. Commands come
 * from the wire, already checked for who may give them; a cut is written on before anything is awaited.
 */
export class BenchDesk implements BenchFacade {
  readonly record: WireRecord;
  readonly #options: BenchDeskOptions;
  readonly #listeners = new Set<(message: WireDown) => void>();
  readonly #outputs = new Map<string, OutputState>();
  readonly #trace = new TraceRing();
  readonly #log: WireLogLine[] = [];
  #client: BenchClient;
  #found: { instruments: FoundInstrument[]; feeds: FoundFeed[] } = { instruments: [], feeds: [] };
  #warnings: string[] = [];
  #prepared: PreparedRun | undefined;
  #active: ActiveRun | undefined;
  #busy = false;
  #closed = false;
  #picture: WireSnapshot["run"] = null;
  #verdict: WireSnapshot["verdict"] = null;
  #question: WireSnapshot["question"] = null;
  #alarm: WireSnapshot["alarm"] = null;
  #jobs: WireSnapshot["jobs"] = [];
  #retry: NodeJS.Timeout | undefined;

  constructor(options: BenchDeskOptions) {
    this.#options = options;
    this.record = deskRecord(options.data.store);
    this.#client = this.#newClient();
  }

  /** Connects the instruments for live figures, and again every few seconds while that fails. */
  async open(): Promise<void> {
    this.#jobs = await wireJobs(this.#options.data.store);
    await this.#showLast();
    await this.#connect();
  }

  /** Shows the newest job's last run until another is started. */
  async #showLast(): Promise<void> {
    const [newest] = this.#jobs;
    if (newest === undefined) return;
    try {
      const run = await lastStoredRun(this.#options.data.store, newest.id);
      if (run === null) return;
      const { picture, trace } = pictureOfRun(run, newest.id);
      this.#picture = picture;
      for (const [feed, readings] of trace) this.#trace.add(feed, readings);
      const verdict = run.end?.verdict;
      if (verdict !== undefined && verdict !== null)
        this.#verdict = { run: run.header.run, job: newest.id, verdict, next: nextSteps(verdict) };
    } catch (cause) {
      // A record that cannot be read keeps nobody from the bench.
      this.#say("warn", `The last run cannot be shown: ${cause instanceof Error ? cause.message : String(cause)}`);
    }
  }

  snapshot(): WireSnapshot {
    const { board, simulated } = this.#options;
    return {
      program: PROGRAM,
      bench: wireBench({
        bench: this.#options.bench,
        board,
        found: this.#found,
        outputs: this.#outputs,
        warnings: this.#warnings,
        simulated,
      }),
      board: {
        name: board?.name ?? "unknown board",
        isDefault: board === null,
        notes: board === null ? ["No board file: limits and bands are the shipped defaults, weak on purpose."] : [],
      },
      permit: this.#prepared?.permit ?? null,
      run: this.#picture,
      trace: this.#trace.list(),
      verdict: this.#verdict,
      alarm: this.#alarm,
      question: this.#question,
      log: [...this.#log],
      jobs: this.#jobs,
    };
  }

  subscribe(listener: (message: WireDown) => void): () => void {
    this.#listeners.add(listener);
    return () => void this.#listeners.delete(listener);
  }

  async command(command: WireCommand): Promise<WireAnswer> {
    if (command.type === "cut") {
      this.#client.cut("the page");
      this.#say("warn", "Cut from the page.");
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
    if (this.#active?.header.plan.keepOn !== true) return;
    this.#client.cut("the page in control closed or went silent");
    this.#say("warn", "The page in control closed or went silent: cut.");
  }

  async close(): Promise<void> {
    this.#closed = true;
    clearTimeout(this.#retry);
    this.#client.cut("the daemon ends");
    await this.#client.close();
    await this.#active?.done;
  }

  async #do(command: Exclude<WireCommand, { type: "cut" }>): Promise<WireAnswer> {
    switch (command.type) {
      case "stop":
        await this.#client.stop("the page");
        return { result: "done" };
      case "answer":
        await this.#client.answer(command.question, command.yes);
        this.#ask(null);
        return { result: "done" };
      case "preview": {
        const prepared = await this.#prepare(command.request);
        this.#send({ type: "permit", permit: prepared.permit });
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
    if (bench === null) throw new Error("No bench file was given: start the daemon with --bench. Nothing was touched.");
    if (this.#active !== undefined || this.#busy) throw new Error("A run is on already; its outputs are as they were.");
    this.#busy = true;
    try {
      const board = request.board === null ? this.#options.board : boardFromText(request.board);
      const prepared = await prepareRun(this.#client, {
        bench,
        drivers,
        board,
        coldOhms: request.coldOhms,
        conditions: request.conditions,
        waiver: request.waiver,
        watchSeconds: request.watchSeconds,
        keepOn: request.keepOn,
      });
      this.#prepared = prepared;
      this.#take({ instruments: prepared.instruments, feeds: prepared.feeds }, prepared.warnings);
      return prepared;
    } finally {
      this.#busy = false;
    }
  }

  async #start(command: Extract<WireCommand, { type: "start-run" }>): Promise<WireAnswer> {
    const prepared = await this.#prepare(command.request);
    if (!prepared.permit.granted) {
      this.#send({ type: "permit", permit: prepared.permit });
      return {
        result: "refused",
        code: "permit",
        because: `The permit is not granted: ${prepared.permit.refusedBecause.join("; ")}. Nothing was energised.`,
      };
    }
    const shown = new Map(command.confirmed.map((each) => [each.feed, each]));
    const differs = prepared.plan.feeds.find((each) => {
      const seen = shown.get(each.feed);
      return seen === undefined || seen.volts !== each.nominalVolts || seen.limitAmps !== each.nominal.limitAmps;
    });
    if (differs !== undefined || shown.size !== prepared.plan.feeds.length) {
      return {
        result: "refused",
        code: "changed",
        because: "The plan is not the one that was shown and confirmed; look at it again. Nothing was energised.",
      };
    }
    const { store, runDirectory } = this.#options.data;
    const job =
      command.request.job === null
        ? await store.newJob({ board: prepared.request.board?.name ?? "unknown board" })
        : await store.findJob(command.request.job);
    const header = runHeader(prepared, "powerup");
    this.#trace.clear();
    this.#verdict = null;
    this.#picture = runPicture(prepared.plan, { run: header.run, job });
    this.#busy = true;
    try {
      this.#follow(
        await ActiveRun.start({
          client: this.#client,
          store,
          job,
          header,
          armDirectory: runDirectory,
          confirmsRaises: true,
        }),
      );
    } finally {
      this.#busy = false;
    }
    return { result: "started", run: header.run };
  }

  #follow(run: ActiveRun): void {
    this.#active = run;
    this.#send({ type: "run-state", run: this.#picture as NonNullable<WireSnapshot["run"]> });
    run.on("progress", (events, progress) => this.#onProgress(events, progress));
    run.on("holding", (verdict) => this.#judged(run, verdict));
    void run.done.then((result) => this.#onDone(result));
  }

  #onProgress(events: readonly PlanEvent[], progress: RunProgress): void {
    const readings: FeedReading[] = [];
    for (const event of events) {
      if (event.event === "reading") readings.push(event.reading);
      else if (event.event === "output") this.#outputs.set(event.feed, event.state);
      else if (event.event === "cut-done")
        for (const feed of this.#outputs.keys()) this.#outputs.set(feed, event.output);
    }
    const atMs = events.at(-1)?.atMs ?? progress.sinceMs;
    for (const feed of progress.energised) if (this.#outputs.get(feed) !== "on") this.#outputs.set(feed, "unknown");
    this.#frame(readings, atMs);
    if (this.#picture !== null) {
      const { sinceMs, ...rest } = progress;
      this.#picture = pictureAt(this.#picture, { ...rest, atMs, waitedMs: Math.max(0, atMs - sinceMs) });
      this.#send({ type: "run-state", run: this.#picture });
    }
  }

  #judged(run: ActiveRun, verdict: DrawVerdict): void {
    this.#verdict = { run: run.header.run, job: run.job, verdict, next: nextSteps(verdict) };
    this.#send({ type: "verdict", verdict: this.#verdict });
  }

  async #onDone(result: RunResult): Promise<void> {
    const run = this.#active;
    this.#active = undefined;
    const atMs = result.events.at(-1)?.atMs ?? 0;
    for (const feed of this.#outputs.keys()) this.#outputs.set(feed, result.outcome.output);
    if (run !== undefined) this.#judged(run, result.verdict);
    if (result.outcome.trip !== null) this.#send({ type: "trip", run: result.header.run, trip: result.outcome.trip });
    if (this.#picture !== null) {
      this.#picture = pictureEnded(this.#picture, result.outcome, atMs);
      this.#send({ type: "run-state", run: this.#picture });
    }
    this.#send({ type: "outcome", run: result.header.run, outcome: result.outcome });
    this.#ask(null);
    if (result.outcome.output === "unknown")
      this.#alert("The output could not be confirmed off. Switch the supply off at its own switch.", "unknown");
    if (result.recordTrouble !== null) this.#say("error", `The record is not whole: ${result.recordTrouble}`);
    this.#jobs = await wireJobs(this.#options.data.store).catch(() => this.#jobs);
    this.#send({ type: "jobs", jobs: this.#jobs });
  }

  #newClient(): BenchClient {
    const client = new BenchClient({ armDirectory: this.#options.data.runDirectory });
    client.on("idle", ({ readings }) => {
      if (this.#active === undefined) this.#frame(readings, readings.at(-1)?.atMs ?? 0);
    });
    client.on("question", ({ type: _, ...question }) => this.#ask(question));
    client.on("alarm", ({ message, output }) => this.#alert(message, output));
    client.on("problem", ({ problem }) => this.#say("warn", problem.message));
    client.on("lost", (why) => {
      this.#say("error", `${why}; what was on is switched off by the guardian`);
      if (this.#closed) return;
      this.#client = this.#newClient();
      this.#later();
    });
    return client;
  }

  async #connect(): Promise<void> {
    const { bench, board, drivers } = this.#options;
    if (bench === null || this.#closed || this.#busy || this.#active !== undefined) return;
    try {
      const feeds = Object.keys(bench.feeds).filter((feed) => board === null || feed in board.feeds);
      this.#take(await this.#client.connect({ bench, drivers, feeds }), []);
    } catch (cause) {
      this.#found = { instruments: [], feeds: [] };
      this.#warnings = [cause instanceof Error ? cause.message : String(cause)];
      this.#sendBench();
      this.#later();
    }
  }

  #later(): void {
    clearTimeout(this.#retry);
    if (!this.#closed) this.#retry = setTimeout(() => void this.#connect(), RECONNECT_MS);
  }

  #take(found: { instruments: FoundInstrument[]; feeds: FoundFeed[] }, warnings: string[]): void {
    this.#found = found;
    this.#warnings = warnings;
    for (const each of found.feeds) this.#outputs.set(each.feed, each.output);
    for (const each of found.feeds)
      if (each.cutByUs) this.#say("warn", `${each.feed}: the output of ${each.supply} was found on and has been cut`);
    this.#sendBench();
  }

  #frame(readings: readonly FeedReading[], nowMs: number): void {
    if (readings.length === 0) return;
    const feeds = [...new Set(readings.map((each) => each.feed))].map((feed) => {
      const own = readings.filter((each) => each.feed === feed);
      const list = own.map(wireReading);
      if (this.#active !== undefined) this.#trace.add(feed, list);
      return {
        feed,
        output: this.#outputs.get(feed) ?? ("unknown" as const),
        ageMs: Math.max(0, nowMs - (own.at(-1)?.atMs ?? nowMs)),
        readings: list,
      };
    });
    this.#send({ type: "frame", feeds, gap: false });
  }

  #ask(question: WireSnapshot["question"]): void {
    this.#question = question;
    this.#send({ type: "question", question });
  }

  #alert(message: string, output: "unknown" | "off"): void {
    this.#alarm = output === "off" ? null : { message, output };
    this.#send({ type: "alarm", alarm: this.#alarm });
    this.#say(output === "off" ? "info" : "error", message);
  }

  #say(level: WireLogLine["level"], text: string): void {
    const line = { at: new Date().toISOString(), level, text };
    this.#log.push(line);
    if (this.#log.length > LOG_LENGTH) this.#log.shift();
    this.#send({ type: "log", line });
  }

  #sendBench(): void {
    this.#send({ type: "bench", bench: this.snapshot().bench });
  }

  #send(message: WireDown): void {
    for (const listener of this.#listeners) listener(message);
  }
}
