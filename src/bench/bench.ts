import { BenchError } from "../../shared/bench-error.ts";
import { type Clock, pause } from "../../shared/clock.ts";
import { Epoch, type EpochToken } from "../../shared/epoch.ts";
import { type FromBench, IPC_PROTOCOL, ToBench } from "../../shared/ipc.ts";
import type { OpenLink } from "../instrument/connect-instrument.ts";
import { energisedFeeds } from "../plan/machine/machine-state.ts";
import type { ProcessorTime } from "../system/processor-time.ts";
import { type ConnectedBench, connectInstruments } from "./connect-instruments.ts";
import { CutAnswers } from "./cut-answers.ts";
import { cutIn } from "./cut-in.ts";
import { CutLane, type Outputs, outputsOf } from "./cut-lane.ts";
import { DaemonWatch } from "./daemon-watch.ts";
import { EventBatch } from "./event-batch.ts";
import type { GuardianPort } from "./guardian-port.ts";
import { IdlePolling } from "./idle-polling.ts";
import { ipcProblem } from "./ipc-problem.ts";
import { askMeterBeside, leaveColdAndArm } from "./meter-and-recorder.ts";
import { PlanRunner } from "./plan-runner.ts";

export interface BenchOptions {
  clock: Clock;
  openLink: OpenLink;
  send: (message: FromBench) => void;
  /** Starts the guardian where there is one; called once, when a directory for its arm file is known. */
  startGuardian: ((armDirectory: string) => Promise<GuardianPort>) | null;
  /** The scheduling that the process got, in words. */
  scheduling: string;
  /** A daemon silent for longer has gone: off. Milliseconds; Infinity where one process holds both sides. */
  beatLimitMs: number;
  /** The daemon's processor time so far: what it waited for one is no silence of its own. */
  daemonTime?: () => ProcessorTime | null;
  /** The time the machine has been suspended so far, milliseconds, where that can be told; the clock stood still then. */
  sleptMs?: () => number;
}

/** The interval of looks for the daemon's beat; readings go to it every other time, 20 times a second. */
const LOOK_MS = 25;
const LOOKS_A_BATCH = 2;
const END_MS = 1000;

/**
 * The bench process without the process: owns every link, runs one plan at a time, decides trips in one synchronous
 * turn. Takes the daemon's messages through `receive`, which never throws; answers through `send`.
 */
export class Bench {
  readonly #options: BenchOptions;
  readonly #cutLane: CutLane;
  #connected: ConnectedBench | undefined;
  #runner: PlanRunner | undefined;
  #runNumber = 0;
  #guardian: GuardianPort | null = null;
  #armDirectory: string | null = null;
  readonly #daemon: DaemonWatch;
  readonly #cutAnswers: CutAnswers;
  readonly #batch: EventBatch;
  /** Questions asked by all runs so far, and by those before the present one: no number is ever used twice. */
  #questionsAsked = 0;
  #questionsBefore = 0;
  readonly #idle: IdlePolling;
  #stopTimer: () => void = () => {};
  #busy: Promise<void> = Promise.resolve();
  #closed = false;
  /** Settles when the links under way are open, or could not be opened. */
  #connecting: Promise<void> | undefined;
  /** Raised by every cut and stop: a run asked for before one does not begin after it. */
  readonly #epoch = new Epoch();

  constructor(options: BenchOptions) {
    this.#options = options;
    this.#batch = new EventBatch(options.send);
    this.#daemon = new DaemonWatch(options);
    this.#cutLane = new CutLane({
      clock: options.clock,
      onAlarm: (message, output) => options.send({ type: "alarm", message, output }),
    });
    this.#cutAnswers = new CutAnswers({
      cutLane: this.#cutLane,
      outputs: () => this.#outputs(),
      connecting: () => this.#connecting,
      endOfRun: () => this.#endOfRun(),
      send: (message) => {
        if (!this.#closed) options.send(message);
      },
      refuse: (id, why) => this.#problem(id, new BenchError("link-closed", why)),
    });
    this.#idle = new IdlePolling({
      clock: options.clock,
      onReading: (reading) => options.send({ type: "idle", readings: [reading] }),
      onAnswer: (instrument) => options.send({ type: "answered", instrument }),
      onSilent: (cause) => this.#problem(null, cause),
    });
    const timer = (looks: number): void => {
      if (this.#closed) return;
      this.#stopTimer = options.clock.after(LOOK_MS, () => timer(looks + 1));
      this.#lookAtDaemon();
      if (looks % LOOKS_A_BATCH !== 0) return;
      options.send({ type: "beat" });
      this.#flush();
    };
    this.#stopTimer = options.clock.after(LOOK_MS, () => timer(1));
  }

  /** True while a run holds outputs that may be on. */
  get isEnergised(): boolean {
    const runner = this.#runner;
    return runner !== undefined && !runner.hasEnded && energisedFeeds(runner.state).length > 0;
  }

  get isIdle(): boolean {
    return this.#runner === undefined || this.#runner.isOver;
  }

  receive(raw: unknown): void {
    const off = cutIn(raw);
    if (off !== null) {
      this.cut(off.by);
      if (off.id !== null) void this.#cutAnswers.answer(off.id);
      return;
    }
    const parsed = ToBench.safeParse(raw);
    if (!parsed.success) {
      const problem = parsed.error.issues[0];
      const where = problem === undefined ? "" : `${problem.path.join(".")}: ${problem.message}`;
      const what = `A message from the daemon was ignored: ${where}; the outputs are unchanged`;
      this.#problem(null, new BenchError("bad-message", what));
      return;
    }
    const message = parsed.data;
    switch (message.type) {
      case "cut":
        return; // Taken above.
      case "hello":
        // Without a lease every command is refused; the daemon ends a process that answers with another protocol.
        this.#daemon.hello(message.protocol === IPC_PROTOCOL ? message.lease : null);
        this.#armDirectory = message.armDirectory;
        this.#options.send({ type: "hello", protocol: IPC_PROTOCOL, pid: 0, scheduling: this.#options.scheduling });
        return;
      case "beat":
        this.#daemon.beat(message.lease);
        return;
      case "close":
        this.#queue(message.id, async () => this.close());
        return;
      default:
    }
    const refusal = this.#daemon.refusal(message);
    if (refusal !== undefined) {
      this.#problem(message.id, refusal);
      return;
    }
    switch (message.type) {
      case "connect": {
        const asked = this.#epoch.token;
        this.#queue(message.id, () => {
          this.#connecting = this.#connect(message, asked).finally(() => {
            this.#connecting = undefined;
          });
          return this.#connecting;
        });
        return;
      }
      case "run": {
        const asked = this.#epoch.token;
        this.#queue(message.id, async () => this.#run(message, asked));
        return;
      }
      case "answer":
        this.#runner?.answer(message.question - this.#questionsBefore, message.yes);
        this.#options.send({ type: "done", id: message.id });
        return;
      case "meter-read":
      case "meter-rest":
        // Beside the queue: a slow meter holds up nothing but itself.
        void this.#answer(message.id, askMeterBeside(this.#connected, message));
        return;
      case "stop":
        this.#epoch.raise();
        this.#runner?.dispatch({ event: "end", atMs: this.#runner.atMs, by: message.by });
        this.#options.send({ type: "done", id: message.id });
        return;
      default:
    }
  }

  /** Off now, for any reason and from anybody; written in this turn. */
  cut(by: string): void {
    this.#epoch.raise();
    if (this.#runner !== undefined && !this.#runner.hasEnded) this.#runner.cut(by);
    else if (this.#connected !== undefined) this.#cutLane.now(this.#outputs());
  }

  /** The daemon is gone: off, proved, and everything closed. */
  async daemonGone(why: string): Promise<void> {
    this.#epoch.raise();
    const outputs = this.#outputs();
    if (!this.isIdle) {
      this.#runner?.dispatch({ event: "lease-lost", atMs: this.#runner.atMs, because: why });
      await this.#cutLane.prove(outputs);
      await this.#endOfRun();
    }
    await this.close();
  }

  /** The last messages of a run to its supplies once they are off; a run that waits for a person is not waited for. */
  #endOfRun(): Promise<void> {
    return this.#within(END_MS, this.#runner?.ended ?? Promise.resolve());
  }

  #within(ms: number, work: Promise<void>): Promise<void> {
    return Promise.race([work, pause(this.#options.clock, ms)]);
  }

  async close(): Promise<void> {
    if (this.#closed) return;
    this.#epoch.raise();
    if (!this.isIdle) {
      const outputs = this.#outputs();
      this.cut("the bench process is closing");
      await this.#cutLane.prove(outputs);
      await this.#endOfRun();
    }
    this.#closed = true;
    this.#stopTimer();
    this.#idle.stop();
    this.#flush();
    await this.#connected?.close();
    this.#connected = undefined;
    this.#guardian?.close();
  }

  /** One of connect, run and close at a time, in the order they came. */
  #queue(id: number, work: () => Promise<void>): void {
    this.#busy = this.#answer(id, this.#busy.then(work));
  }

  #answer(id: number, work: Promise<void>): Promise<void> {
    return work.then(
      () => this.#options.send({ type: "done", id }),
      (cause: unknown) => this.#problem(id, cause),
    );
  }

  #problem(id: number | null, cause: unknown): void {
    const problem = ipcProblem(cause, this.isEnergised ? "unknown" : "untouched");
    this.#options.send({ type: "problem", id, problem });
  }

  #outputs(): Outputs {
    return outputsOf(this.#connected?.sources.values() ?? []);
  }

  async #connect(message: Extract<ToBench, { type: "connect" }>, asked: EpochToken): Promise<void> {
    if (!this.isIdle)
      throw new BenchError("bad-message", "Cannot connect: a run is in progress; its outputs are unchanged");
    // The proof of a cut goes by the links that are closed here.
    await this.#within(END_MS, this.#cutAnswers.proved);
    this.#idle.stop();
    await this.#connected?.close();
    this.#connected = undefined;
    const connected = await connectInstruments({
      bench: message.bench,
      drivers: message.drivers,
      ...(message.ownDrivers === undefined ? {} : { ownDrivers: message.ownDrivers }),
      feeds: message.feeds,
      ...(message.mayMiss === undefined ? {} : { mayMiss: message.mayMiss }),
      clock: this.#options.clock,
      openLink: this.#options.openLink,
      isIdle: () => this.isIdle,
      onMeterReadings: (readings) => this.#options.send({ type: "meter-readings", readings }),
      onMeterProblem: (cause) => this.#problem(null, cause),
      onRecorderProblem: (cause) => this.#problem(null, cause),
      cut: async (supply, channel) => {
        const outputs = new Map([[supply, [channel]]]);
        this.#cutLane.now(outputs);
        return (await this.#cutLane.prove(outputs)).output === "off";
      },
    });
    this.#connected = connected;
    // A cut that came meanwhile found nothing to write to.
    if (this.#epoch.hasRisenSince(asked)) this.#cutLane.now(this.#outputs());
    this.#options.send({
      type: "connected",
      id: message.id,
      instruments: connected.foundInstruments,
      feeds: connected.foundFeeds,
      ...(connected.missing.length === 0 ? {} : { missing: connected.missing }),
    });
    this.#idle.start(connected.sources, connected.meter);
  }

  async #run(message: Extract<ToBench, { type: "run" }>, asked: EpochToken): Promise<void> {
    const connected = this.#connected;
    if (connected === undefined)
      throw new BenchError("bad-message", "Cannot run: no instrument is connected; nothing was energised");
    if (!this.isIdle)
      throw new BenchError("bad-message", "Cannot run: a run is already in progress; its outputs are unchanged");
    if (!message.permit.granted) {
      throw new BenchError(
        "bad-message",
        `Cannot run: the permit is not granted (${message.permit.refusedBecause.join("; ")}); nothing was energised`,
      );
    }
    await this.#needGuardian();
    await this.#within(END_MS, this.#cutAnswers.proved);
    if (this.#cutAnswers.isProving)
      throw new BenchError("bad-message", "Cannot run: the last cut is not proved yet; nothing was energised");
    // One that found no run yet was meant for this one.
    if (this.#epoch.hasRisenSince(asked))
      throw new BenchError("bad-message", "Cannot run: a cut or a stop came before it began; nothing was energised");
    this.#idle.stop();
    this.#runner = this.#makeRunner(message, connected);
    const refusal = await this.#runner.begin(message.deadlineMs);
    if (refusal === undefined) return;
    // A protection that is cleared may switch on: off until that is proved, whoever waits for the answer.
    await this.#endOfRun();
    throw refusal;
  }

  async #needGuardian(): Promise<void> {
    const { startGuardian } = this.#options;
    if (startGuardian === null || this.#guardian?.isAlive === true) return;
    if (this.#armDirectory === null)
      throw new BenchError("bad-message", "Cannot run: the guardian was given no directory; nothing was energised");
    this.#guardian = await startGuardian(this.#armDirectory);
  }

  /** From here on a stop, a cut and an answer have a machine to go to. */
  #makeRunner(
    { plan, record, confirmsRaises, trigger }: Extract<ToBench, { type: "run" }>,
    connected: ConnectedBench,
  ): PlanRunner {
    const run = ++this.#runNumber;
    const questionsBefore = this.#questionsAsked;
    this.#questionsBefore = questionsBefore;
    this.#batch.begin(run, questionsBefore);
    const runner: PlanRunner = new PlanRunner({
      plan,
      clock: this.#options.clock,
      sources: connected.sources,
      epoch: this.#epoch,
      record,
      cutLane: this.#cutLane,
      guardian: this.#guardian,
      leaveCold: () => leaveColdAndArm(connected, trigger ?? null),
      onEvent: (event, state) => {
        if (this.#batch.add(event, state, plan)) this.#flush();
      },
      onQuestion: ({ question, ...asked }) => {
        this.#questionsAsked = questionsBefore + question;
        this.#flush();
        // Nobody there to confirm: a limit is never raised and a hand-switched feed is never taken as switched.
        if (confirmsRaises) this.#options.send({ type: "question", question: this.#questionsAsked, ...asked });
        else this.#options.clock.after(0, () => runner.answer(question, false));
      },
      onEnded: (outcome, refusal) => {
        this.#flush();
        const roundTrip = Object.fromEntries(
          [...connected.instruments].map(([name, each]) => [name, { ...each.roundTrip }]),
        );
        // A run that could not be made ready is refused; it has no end of its own.
        if (refusal === undefined) this.#ended({ type: "ended", run, outcome, roundTrip }, connected);
        if (!this.#closed && this.#connected === connected) this.#idle.start(connected.sources, connected.meter);
        if (outcome.output === "unknown") void this.#cutAtLast(connected);
      },
    });
    return runner;
  }

  /** Says that a run ended, at once; what was recorded of it is fetched behind that, once everything is proved off. */
  #ended(message: Extract<FromBench, { type: "ended" }>, { recorder }: ConnectedBench): void {
    const { send } = this.#options;
    if (recorder === undefined) return send(message);
    send({ ...message, isRecorded: true });
    void recorder
      .fetch(message.outcome.output === "off")
      .then((fetched) => send({ type: "recording", run: message.run, ...fetched }));
  }

  /** An output that ended in doubt is cut on until it is proved off, or until other instruments or another run take its place. */
  async #cutAtLast(connected: ConnectedBench): Promise<void> {
    const runner = this.#runner;
    const isMine = (): boolean => !this.#closed && this.#connected === connected && this.#runner === runner;
    const outputs = this.#outputs();
    this.#cutLane.now(outputs);
    const { output } = await this.#cutLane.proveAtLast(outputs, isMine);
    if (output === "off" && isMine()) this.#guardian?.disarm();
  }

  #flush(): void {
    this.#batch.flush(this.#runner);
  }

  /** A run needs a live lease in every stage: what is off now may be switched on in the next turn. */
  #lookAtDaemon(): void {
    const found = this.#daemon.look(this.isIdle);
    const runner = this.#runner;
    if (found !== null) runner?.dispatch({ ...found, atMs: runner.atMs });
  }
}
