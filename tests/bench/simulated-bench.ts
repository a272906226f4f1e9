import { isDeepStrictEqual } from "node:util";
import type { DrawVerdict } from "../../shared/draw-verdict.ts";
import type { BenchFile } from "../../shared/files/bench-file.ts";
import type { BoardFile } from "../../shared/files/board-file.ts";
import type { ScenarioFile } from "../../shared/files/scenario-file.ts";
import type { MeterTraits, SupplyTraits } from "../../shared/files/supply-traits.ts";
import { FromBench, IPC_PROTOCOL, type ToBench } from "../../shared/ipc.ts";
import type { PlanEvent, RunOutcome } from "../../shared/plan.ts";
import type { RunHeader } from "../../shared/record/run-record.ts";
import { Bench, type BenchOptions } from "../../src/bench/bench.ts";
import { type PreparedRun, prepareRun, runHeader } from "../../src/daemon/run/prepare-run.ts";
import { recorderTrigger } from "../../src/daemon/run/recorder-trigger.ts";
import { accuracyOf, drawInput, foldRun } from "../../src/daemon/run/run-fold.ts";
import type { RunRequest } from "../../src/daemon/run/run-request.ts";
import { loadDrivers } from "../../src/instrument/load-drivers.ts";
import { openLink } from "../../src/link/open-link.ts";
import type { Dialect } from "../../src/simulator/simulated-supply.ts";
import { type Simulation, type SimulationOptions, startSimulation } from "../../src/simulator/start-simulation.ts";
import { verdictOnDraw } from "../../src/verdict/draw-verdict.ts";
import { withRecording } from "../../src/verdict/recording/with-recording.ts";
import { HandClock } from "../hand-clock.ts";
import { NOTHING_STATED } from "../nothing-stated.ts";
import { WireQuiet } from "./wire-quiet.ts";

export interface SimulatedBenchOptions {
  scenario: string | ScenarioFile;
  dialect?: Dialect;
  transport?: "tcp" | "pty";
  traits?: SupplyTraits;
  meterTraits?: MeterTraits;
  seed?: number;
  recorder?: SimulationOptions["recorder"];
  /** What the bench process is handed besides; a lease that must be kept is then the test's to keep. */
  bench?: Partial<Pick<BenchOptions, "beatLimitMs" | "sleptMs" | "startGuardian">>;
}

export interface RunReport {
  prepared: PreparedRun;
  header: RunHeader;
  events: PlanEvent[];
  outcome: RunOutcome;
  verdict: DrawVerdict;
  /** What the supply's readings alone came to. */
  readVerdict: DrawVerdict;
  /** What came of the bench's recorder; null where it has none. */
  recording: Extract<FromBench, { type: "recording" }> | null;
}

export interface RunWish {
  watchSeconds?: number;
  keepOn?: boolean;
  task?: NonNullable<RunRequest["task"]>;
  cooler?: RunRequest["conditions"]["cooler"];
  board?: BoardFile | null;
  bench?: BenchFile;
  coldOhms?: RunRequest["coldOhms"];
  waiver?: RunRequest["waiver"];
  /** What is answered to a question; null: nobody is there. */
  answer?: ((question: Extract<FromBench, { type: "question" }>) => boolean) | null;
  /** Called with each event as it is decided, in the run's own time. */
  onEvent?: (event: PlanEvent) => void;
}

/**
 * The bench process's own code, the real links, and the simulated instruments at the other end of real sockets or ptys,
 * all on one hand-set clock: it moves only when nothing is on its way between them.
 */
export class SimulatedBench {
  readonly clock = new HandClock();
  readonly simulation: Simulation;
  readonly sent: FromBench[] = [];
  readonly bench: Bench;
  readonly #quiet: WireQuiet;
  readonly #drivers: Awaited<ReturnType<typeof loadDrivers>>["drivers"];
  #nextId = 0;
  #listener: (message: FromBench) => void = () => {};

  private constructor(
    simulation: Simulation,
    clock: HandClock,
    drivers: Awaited<ReturnType<typeof loadDrivers>>["drivers"],
    bench: SimulatedBenchOptions["bench"],
  ) {
    this.clock = clock;
    this.simulation = simulation;
    this.#drivers = drivers;
    this.#quiet = new WireQuiet(() => simulation.bytes);
    this.bench = new Bench({
      clock,
      openLink: this.#quiet.counting(openLink),
      send: (message) => {
        const checked = FromBench.parse(message);
        if (checked.type !== "beat") this.sent.push(checked);
        this.#listener(checked);
      },
      startGuardian: null,
      scheduling: "a test's",
      beatLimitMs: Number.POSITIVE_INFINITY,
      ...bench,
    });
    this.bench.receive({ type: "hello", protocol: IPC_PROTOCOL, lease: 1, armDirectory: "/nowhere" } satisfies ToBench);
  }

  static async start(options: SimulatedBenchOptions): Promise<SimulatedBench> {
    const clock = new HandClock();
    const simulation = await startSimulation({
      scenario: options.scenario,
      dialect: options.dialect ?? "numbered",
      transport: options.transport ?? "tcp",
      clock,
      // An instrument that answers in no time would be asked without end while the clock stands still.
      traits: { latencyMs: 20, latencyJitterMs: 4, ...options.traits },
      ...(options.meterTraits === undefined ? {} : { meterTraits: options.meterTraits }),
      ...(options.recorder === undefined ? {} : { recorder: options.recorder }),
      ...(options.seed === undefined ? {} : { seed: options.seed }),
    });
    return new SimulatedBench(simulation, clock, (await loadDrivers(null)).drivers, options.bench);
  }

  /** Lets time pass, as far as it has to, until the promise settles. */
  async until<T>(promise: Promise<T>): Promise<T> {
    let settled = false;
    const watched = promise.finally(() => {
      settled = true;
    });
    watched.catch(() => {});
    while (!settled) {
      await this.#quiet.settled();
      if (!settled) this.clock.step();
    }
    return watched;
  }

  /** Lets this much time pass. */
  async pass(ms: number): Promise<void> {
    await this.until(new Promise<void>((resolve) => void this.clock.after(ms, resolve)));
  }

  request(wish: RunWish = {}): RunRequest {
    const { conditions } = this.simulation.scenario;
    return {
      bench: wish.bench ?? this.simulation.benchFile,
      drivers: this.#drivers,
      board: wish.board === undefined ? (this.simulation.boardFile ?? null) : wish.board,
      coldOhms: wish.coldOhms ?? this.simulation.coldOhms,
      conditions: {
        ...NOTHING_STATED,
        host: conditions.host ?? "unknown",
        fans: conditions.fans ?? "unknown",
        cooler: wish.cooler ?? "cooler",
        polarityChecked: true,
        commonReturn: true,
        sidebandStrapped: true,
        pairsUnplugged: true,
      },
      waiver: wish.waiver === undefined ? { reason: "a test", items: null } : wish.waiver,
      watchSeconds: wish.watchSeconds ?? null,
      keepOn: wish.keepOn ?? false,
      ...(wish.task === undefined ? {} : { task: wish.task }),
    };
  }

  prepare(wish: RunWish = {}): Promise<PreparedRun> {
    return this.prepareOf(this.request(wish));
  }

  prepareOf(request: RunRequest): Promise<PreparedRun> {
    return this.until(prepareRun({ connect: (options) => this.#connect(options) }, request));
  }

  /** One run from its request to its verdict. */
  async run(wish: RunWish = {}): Promise<RunReport> {
    return this.follow(await this.prepare(wish), wish);
  }

  async follow(prepared: PreparedRun, wish: RunWish = {}): Promise<RunReport> {
    const header = runHeader(prepared, "powerup");
    const events: PlanEvent[] = [];
    const stamp = this.#stamp();
    let tellRecording: (message: RunReport["recording"]) => void = () => {};
    const recording = new Promise<RunReport["recording"]>((resolve) => {
      tellRecording = resolve;
    });
    const ended = new Promise<RunOutcome>((resolve, reject) => {
      this.#listener = (message) => {
        if (message.type === "recording") tellRecording(message);
        if (message.type === "ended" && message.isRecorded !== true) tellRecording(null);
        if (message.type === "events") {
          for (const event of message.events) wish.onEvent?.(event);
          events.push(...message.events);
        } else if (message.type === "ended") resolve(message.outcome);
        else if (message.type === "problem" && message.id === stamp.id) reject(new Error(message.problem.message));
        else if (message.type === "question") {
          const yes = wish.answer?.(message) ?? false;
          this.bench.receive({ type: "answer", ...this.#stamp(), question: message.question, yes });
        }
      };
    });
    const { plan, permit } = prepared;
    const trigger = recorderTrigger(header.bench, header.board, plan);
    this.bench.receive({
      type: "run",
      ...stamp,
      record: header.capture,
      plan,
      permit,
      confirmsRaises: wish.answer !== null && wish.answer !== undefined,
      ...(trigger === null ? {} : { trigger }),
    });
    const outcome = await this.until(ended);
    const came = await this.until(recording);
    const fold = foldRun(plan, events, accuracyOf(header));
    if (!isDeepStrictEqual(fold.outcome, outcome)) {
      throw new Error(`replay came to ${JSON.stringify(fold.outcome)}, the run to ${JSON.stringify(outcome)}`);
    }
    const input = drawInput(fold, header);
    const readVerdict = verdictOnDraw(input);
    const recorded = came?.recorded ?? null;
    return {
      prepared,
      header,
      events,
      outcome,
      verdict: recorded === null ? readVerdict : withRecording(readVerdict, input, recorded),
      readVerdict,
      recording: came,
    };
  }

  async close(): Promise<void> {
    await this.until(this.bench.close());
    await this.until(this.simulation.close());
  }

  #stamp(): { id: number; lease: number; deadlineMs: number } {
    this.#nextId += 1;
    return { id: this.#nextId, lease: 1, deadlineMs: this.clock.nowMs() + 60_000 };
  }

  #connect(options: {
    bench: BenchFile;
    drivers: RunRequest["drivers"];
    feeds: string[];
  }): ReturnType<Parameters<typeof prepareRun>[0]["connect"]> {
    const stamp = this.#stamp();
    return new Promise((resolve, reject) => {
      this.#listener = (message) => {
        if (message.type === "connected" && message.id === stamp.id)
          resolve({ instruments: message.instruments, feeds: message.feeds, missing: message.missing ?? [] });
        else if (message.type === "problem" && message.id === stamp.id) reject(new Error(message.problem.message));
      };
      this.bench.receive({ type: "connect", ...stamp, ...options });
    });
  }
}
