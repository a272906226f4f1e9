import { BenchError } from "../../../shared/bench-error.ts";
import type { BenchFile } from "../../../shared/files/bench-file.ts";
import type { BoardFile } from "../../../shared/files/board-file.ts";
import type { DriverFile, OwnDrivers } from "../../../shared/files/driver-file.ts";
import type { FoundFeed, FoundInstrument } from "../../../shared/ipc.ts";
import type { WireBench } from "../../../shared/wire.ts";
import { messageOf } from "../../../shared/words/message-of.ts";
import { BenchProcess } from "../process/bench-process.ts";
import { benchFeeds, missingInWords } from "../run/bench-feeds.ts";
import { LastAnswers } from "./last-answers.ts";
import type { PageShow } from "./show-page.ts";
import { wireBench } from "./wire-bench.ts";

export interface DeskLinksOptions {
  show: PageShow;
  /** null: no bench file was given. */
  bench: BenchFile | null;
  drivers: DriverFile[];
  ownDrivers: OwnDrivers;
  board: BoardFile | null;
  simulated: boolean;
  armDirectory: string;
  /** The file that is started as the bench process, where it is not the program's own. */
  benchProgram?: string;
  /** True while a run tells of the outputs itself. */
  hasRun: () => boolean;
  /** True while the links belong to a run, a sweep or a preparation, and are not to be opened anew. */
  isInUse: () => boolean;
}

/** The state found of a bench. */
export interface FoundBench {
  instruments: FoundInstrument[];
  feeds: FoundFeed[];
}

const RECONNECT_MS = 5000;
/** A lost bench process is replaced after this; at once could be over and over. */
const REPLACE_MS = 1000;

/** The daemon's bench process between runs: its live figures, and the way back when an instrument or it went away. */
export class DeskLinks {
  readonly #options: DeskLinksOptions;
  #client: BenchProcess;
  #found: FoundBench = { instruments: [], feeds: [] };
  #warnings: string[] = [];
  readonly #answers = new LastAnswers();
  #closed = false;
  #retry: NodeJS.Timeout | undefined;

  constructor(options: DeskLinksOptions) {
    this.#options = options;
    this.#client = this.#newClient();
  }

  get client(): BenchProcess {
    return this.#client;
  }

  get found(): FoundBench {
    return this.#found;
  }

  /** No more connecting; the bench process itself is ended by whoever cuts. */
  close(): void {
    this.#closed = true;
    clearTimeout(this.#retry);
  }

  /** Connects the instruments for live figures, and again every few seconds while that fails. */
  async connect(): Promise<void> {
    const { bench, board, drivers, ownDrivers } = this.#options;
    if (bench === null || this.#closed) return;
    if (this.#options.isInUse()) return this.later();
    if (this.#client.isLost) this.#client = this.#newClient();
    const client = this.#client;
    try {
      const found = await client.connect({ bench, drivers, ownDrivers, ...benchFeeds(bench, board) });
      this.take(found, missingInWords(found.missing));
    } catch (cause) {
      // A lost process has said so itself, and has its successor under way.
      if (client.isLost) return;
      const instrument = cause instanceof BenchError ? (cause.instrument ?? null) : null;
      this.#away(messageOf(cause), RECONNECT_MS, instrument);
    }
  }

  /** Connects in a while; after an attempt that failed, by default. */
  later(ms: number = RECONNECT_MS): void {
    clearTimeout(this.#retry);
    if (!this.#closed) this.#retry = setTimeout(() => void this.connect(), ms);
  }

  /** The state found of the bench, from now on the truth. */
  take(found: FoundBench, warnings: string[]): void {
    this.#found = found;
    this.#warnings = warnings;
    for (const { name } of found.instruments) this.#answers.heard(name);
    this.#options.show.notKnown();
    for (const each of found.feeds) this.#options.show.outputs.set(each.feed, each.output);
    for (const each of found.feeds)
      if (each.cutByUs)
        this.#options.show.say("warn", `${each.feed}: the output of ${each.supply} was found on and has been cut`);
    const outputs = [...this.#options.show.outputs.values()];
    if (outputs.length > 0 && outputs.every((output) => output === "off")) this.#options.show.foundOff();
    this.#sendBench();
  }

  /** The bench as the page shows it. */
  wireBench(): WireBench {
    const { bench, board, simulated } = this.#options;
    return wireBench({
      bench,
      board,
      found: this.#found,
      outputs: this.#options.show.outputs,
      answers: this.#answers,
      warnings: this.#warnings,
      simulated,
    });
  }

  #newClient(): BenchProcess {
    const { armDirectory, benchProgram: program } = this.#options;
    const client = new BenchProcess({ armDirectory, ...(program === undefined ? {} : { program }) });
    const heard = (feed: string): void => {
      const supply = this.#found.feeds.find((each) => each.feed === feed)?.supply;
      if (supply !== undefined) this.#answers.heard(supply);
    };
    client.on("answered", ({ instrument }) => this.#answers.heard(instrument));
    client.on("meter-readings", () => {
      const meter = this.#options.bench?.meter;
      if (meter !== undefined) this.#answers.heard(meter);
    });
    client.on("events", ({ events }) => {
      for (const event of events) if (event.event === "reading") heard(event.reading.feed);
    });
    client.on("idle", ({ readings }) => {
      for (const { feed } of readings) heard(feed);
      if (!this.#options.hasRun())
        this.#options.show.frame(readings, { nowMs: readings.at(-1)?.atMs ?? 0, keep: false });
    });
    client.on("question", ({ type: _, ...question }) => this.#options.show.ask(question));
    client.on("alarm", ({ message, output }) => this.#options.show.alert(message, output));
    client.on("problem", ({ problem }) => {
      this.#options.show.say("warn", problem.message);
      // Between runs nobody else would notice that an instrument went away, and came back.
      if (problem.code !== "bad-message" && !this.#options.isInUse())
        this.#away(problem.message, RECONNECT_MS, problem.instrument);
    });
    client.on("cut-proof", ({ output, because }) => this.#options.show.cutProved(output, because));
    client.on("note", (note) => this.#options.show.say("info", note));
    client.on("lost", (why) => {
      // Its questions went with it, and the numbers of its successor's begin anew.
      this.#options.show.ask(null);
      this.#options.show.say("error", `${why}; the guardian switches off what was on`);
      this.#away(why, REPLACE_MS);
    });
    return client;
  }

  /** The instruments are out of reach: says so, and tries again. */
  #away(why: string, againMs: number, instrument: string | null = null): void {
    if (instrument !== null) this.#answers.missed(instrument);
    this.#found = { instruments: [], feeds: [] };
    this.#warnings = [why];
    this.#options.show.notKnown();
    this.#sendBench();
    this.later(againMs);
  }

  #sendBench(): void {
    this.#options.show.send({ type: "bench", bench: this.wireBench() });
  }
}
