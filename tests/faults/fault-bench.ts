import type { Clock } from "../../shared/clock.ts";
import type { BenchFile } from "../../shared/files/bench-file.ts";
import type { SupplyTraits } from "../../shared/files/supply-traits.ts";
import { FromBench, IPC_PROTOCOL, type ToBench } from "../../shared/ipc.ts";
import type { Plan, PlanEvent, RunOutcome } from "../../shared/plan.ts";
import type { FeedReading } from "../../shared/reading.ts";
import { Bench } from "../../src/bench/bench.ts";
import type { GuardianPort } from "../../src/bench/guardian-port.ts";
import { type PreparedRun, prepareRun } from "../../src/daemon/run/prepare-run.ts";
import type { RunRequest } from "../../src/daemon/run/run-request.ts";
import { loadDrivers } from "../../src/instrument/load-drivers.ts";
import { uuidV7 } from "../../src/job/store/uuid-v7.ts";
import type { Link } from "../../src/link/link.ts";
import { openLink } from "../../src/link/open-link.ts";
import type { Dialect } from "../../src/simulator/simulated-supply.ts";
import { type Simulation, startSimulation } from "../../src/simulator/start-simulation.ts";
import { WireQuiet } from "../bench/wire-quiet.ts";
import { HandClock } from "../hand-clock.ts";
import { NOTHING_STATED } from "../nothing-stated.ts";
import type { Written } from "./switch-lines.ts";

export type Transport = "tcp" | "pty";

export interface FaultBenchOptions {
  transport: Transport;
  scenario?: string;
  dialect?: Dialect;
  traits?: SupplyTraits;
  seed: number;
  /** Changed before anything is connected. */
  benchFile?: (file: BenchFile) => BenchFile;
}

/** A published value and when it was published, by the simulation's clock. */
export interface Published {
  atMs: number;
  /** From when its question was written to when its answer was complete, by the simulation's clock. */
  askedMs: number;
  answeredMs: number;
  reading: FeedReading;
}

const drivers = (await loadDrivers(null)).drivers;

/**
 * The bench process's own code between a daemon and a guardian that can be made to fail, and simulated instruments at the
 * other end of real sockets or ptys: all on one clock set by hand, that moves only when the wires are quiet.
 */
export class FaultBench {
  readonly clock = new HandClock();
  readonly simulation: Simulation;
  readonly bench: Bench;
  readonly published: Published[] = [];
  readonly events: PlanEvent[] = [];
  readonly alarms: string[] = [];
  /** When the guardian was armed, by the simulation's clock. */
  readonly armedMs: number[] = [];
  /** What the bench process wrote, at its own end of each line, by the simulation's clock. */
  readonly written: Written[] = [];
  /** Lines that the bench process saw end, by the simulation's clock. */
  readonly lineEnds: { instrument: string; atMs: number }[] = [];
  /** When the run was asked for, when it was said to be over, and when somebody first asked for its end. */
  askedMs = Number.POSITIVE_INFINITY;
  endedMs = Number.POSITIVE_INFINITY;
  toldToEndMs = Number.POSITIVE_INFINITY;
  /** What the run says it does. */
  where = { stage: "check", waitingFor: "" };
  plan: Plan | undefined;
  outcome: RunOutcome | undefined;
  /** Simulation time at the run's zero. */
  zeroMs = 0;
  /** A daemon that beats no more. */
  daemonSilent = false;
  /** A cable that is pulled: nothing passes either way, and nobody is told. */
  pulled = false;
  readonly #quiet: WireQuiet;
  readonly #options: FaultBenchOptions;
  #skewMs = 0;
  #jumpedMs = Number.POSITIVE_INFINITY;
  #guardianLost: ((because: string) => void) | undefined;
  #nextId = 0;
  #listener: (message: FromBench) => void = () => {};
  #closed = false;

  private constructor(simulation: Simulation, clock: HandClock, options: FaultBenchOptions) {
    this.clock = clock;
    this.simulation = simulation;
    this.#options = options;
    this.#quiet = new WireQuiet(() => simulation.bytes);
    // The bench's own time may jump, as it does for a process that was stopped; the instruments' does not.
    const benchClock: Clock = {
      nowMs: () => clock.nowMs() + this.#skewMs,
      after: (ms, run) => clock.after(ms, run),
    };
    this.bench = new Bench({
      clock: benchClock,
      openLink: this.#quiet.counting(async (each: Parameters<typeof openLink>[0]) =>
        this.#pullable(await openLink(each)),
      ),
      send: (message) => this.#take(FromBench.parse(message)),
      startGuardian: async () => this.#guardian(),
      scheduling: "a test's",
      beatLimitMs: 250,
    });
    this.bench.receive({ type: "hello", protocol: IPC_PROTOCOL, lease: 1, armDirectory: "/nowhere" } satisfies ToBench);
    const beat = (): void => {
      if (this.#closed) return;
      clock.after(50, beat);
      if (!this.daemonSilent) this.bench.receive({ type: "beat", lease: 1 } satisfies ToBench);
    };
    beat();
  }

  static async start(options: FaultBenchOptions): Promise<FaultBench> {
    const clock = new HandClock();
    const simulation = await startSimulation({
      scenario: options.scenario ?? "single-feed",
      dialect: options.dialect ?? "numbered",
      transport: options.transport,
      clock,
      traits: { latencyMs: 10, latencyJitterMs: 4, ...options.traits },
      seed: options.seed,
    });
    return new FaultBench(simulation, clock, options);
  }

  /** The supply of the first feed, by its name on the bench. */
  get supply(): string {
    const [feed] = Object.values(this.simulation.benchFile.feeds);
    if (feed === undefined || "manual" in feed) throw new Error("the scenario has no switched feed");
    return feed.supply;
  }

  get feed(): string {
    return Object.keys(this.simulation.benchFile.feeds)[0] ?? "";
  }

  /** Moves the bench process's clock on by this much in one go, as a suspended machine's. */
  jump(ms: number): void {
    this.#jumpedMs = this.clock.nowMs();
    this.#skewMs = ms;
  }

  /** Simulation time of a moment of the run, which may be before or after a jump. */
  simulationMs(runMs: number): number {
    const benchMs = runMs + this.zeroMs;
    return benchMs >= this.#jumpedMs + this.#skewMs ? benchMs - this.#skewMs : Math.min(benchMs, this.#jumpedMs);
  }

  loseGuardian(): void {
    this.#endAsked();
    this.#guardianLost?.("the guardian process ended");
  }

  loseDaemon(): void {
    this.#endAsked();
    void this.bench.daemonGone("the daemon ended");
  }

  /** Another client on the same instrument; its answers go to itself. TCP only. */
  async intruder(): Promise<Link> {
    const entry = this.simulation.benchFile.instruments[this.supply];
    const link = await this.#quiet.counting(openLink)({
      address: entry?.address ?? "",
      clock: this.clock,
      deadlineMs: 1000,
    });
    link.onLine(() => {});
    return link;
  }

  /** Lets time pass, as far as it has to, until the promise settles; `each` is called between the steps. */
  async until<T>(promise: Promise<T>, each: () => void = () => {}): Promise<T> {
    let settled = false;
    const watched = promise.finally(() => {
      settled = true;
    });
    watched.catch(() => {});
    while (!settled) {
      await this.#quiet.settled();
      if (settled) break;
      each();
      this.clock.step();
    }
    return watched;
  }

  pass(ms: number): Promise<void> {
    return this.until(new Promise<void>((resolve) => void this.clock.after(ms, resolve)));
  }

  async prepare(wish: { keepOn?: boolean; watchSeconds?: number } = {}): Promise<PreparedRun> {
    const { simulation } = this;
    const { conditions } = simulation.scenario;
    const request: RunRequest = {
      bench: this.#options.benchFile?.(simulation.benchFile) ?? simulation.benchFile,
      drivers,
      board: simulation.boardFile ?? null,
      coldOhms: simulation.coldOhms,
      conditions: {
        ...NOTHING_STATED,
        host: conditions.host ?? "unknown",
        fans: conditions.fans ?? "unknown",
        cooler: "cooler",
      },
      waiver: { reason: "a test", items: null },
      watchSeconds: wish.watchSeconds ?? 5,
      keepOn: wish.keepOn ?? false,
    };
    const stamp = this.#stamp();
    return this.until(
      prepareRun(
        {
          connect: (options) =>
            new Promise((resolve, reject) => {
              this.#listener = (message) => {
                if (message.type === "connected" && message.id === stamp.id) {
                  resolve({ instruments: message.instruments, feeds: message.feeds, missing: message.missing ?? [] });
                } else if (message.type === "problem" && message.id === stamp.id)
                  reject(new Error(message.problem.message));
              };
              this.bench.receive({ type: "connect", ...stamp, ...options });
            }),
        },
        request,
      ),
    );
  }

  /** One run to its end. Rejects where it was refused; `between` is called whenever the wires are quiet. */
  async run(prepared: PreparedRun, between: () => void): Promise<RunOutcome> {
    const { plan, permit } = prepared;
    this.plan = plan;
    const stamp = this.#stamp();
    const ended = new Promise<RunOutcome>((resolve, reject) => {
      this.#listener = (message) => {
        if (message.type === "ended") resolve(message.outcome);
        else if (message.type === "problem" && message.id === stamp.id) reject(new Error(message.problem.message));
      };
      this.askedMs = this.clock.nowMs();
      this.bench.receive({ type: "run", ...stamp, record: uuidV7(), plan, permit, confirmsRaises: false });
    });
    this.outcome = await this.until(ended, between);
    return this.outcome;
  }

  cut(): void {
    this.#endAsked();
    this.#nextId += 1;
    this.bench.receive({ type: "cut", id: this.#nextId, by: "a test" } satisfies ToBench);
  }

  /** An end in order. */
  stop(): void {
    this.#endAsked();
    this.bench.receive({ type: "stop", ...this.#stamp(), by: "a test" });
  }

  async close(): Promise<void> {
    this.pulled = false;
    await this.until(this.bench.close());
    this.#closed = true;
    await this.until(this.simulation.close());
  }

  #endAsked(): void {
    this.toldToEndMs = Math.min(this.toldToEndMs, this.clock.nowMs());
  }

  #take(message: FromBench): void {
    if (message.type === "ended") this.endedMs = this.clock.nowMs();
    if (message.type === "alarm") this.alarms.push(message.message);
    if (message.type === "events") {
      this.where = message.progress;
      for (const event of message.events) {
        // The first event leaves the bench in the turn it was decided in.
        if (event.event === "begin") this.zeroMs = this.clock.nowMs() - event.atMs;
        this.events.push(event);
        if (event.event !== "reading") continue;
        const { reading } = event;
        this.published.push({
          atMs: this.clock.nowMs(),
          askedMs: this.simulationMs(reading.queriedAtMs),
          answeredMs: this.simulationMs(reading.atMs),
          reading,
        });
      }
    }
    this.#listener(message);
  }

  #guardian(): GuardianPort {
    return {
      arm: async () => void this.armedMs.push(this.clock.nowMs()),
      disarm: () => {},
      isAlive: true,
      onLost: (listener) => {
        this.#guardianLost = listener;
        return () => {};
      },
      close: () => {},
    };
  }

  /** A link over which nothing passes while the cable is pulled. */
  #pullable(link: Link): Link {
    const isPulled = (): boolean => this.pulled;
    const { connection } = link;
    const instrument =
      Object.entries(this.simulation.benchFile.instruments).find(([, each]) => each.address === link.address)?.[0] ??
      "";
    return {
      address: link.address,
      connection,
      get isOpen() {
        return link.isOpen;
      },
      counters: link.counters,
      write: (text, options) => {
        this.written.push({ atMs: this.clock.nowMs(), instrument, connection, text });
        if (!isPulled()) link.write(text, options);
      },
      onLine: (listener) => link.onLine((line) => (isPulled() ? undefined : listener(line))),
      onJunk: (listener) => link.onJunk((junk) => (isPulled() ? undefined : listener(junk))),
      onClose: (listener) =>
        link.onClose((closed) => {
          this.lineEnds.push({ instrument, atMs: this.clock.nowMs() });
          listener(closed);
        }),
      divert: (take) => link.divert(take === null ? null : (bytes) => (isPulled() ? undefined : take(bytes))),
      discardInput: () => link.discardInput(),
      close: () => link.close(),
    };
  }

  #stamp(): { id: number; lease: number; deadlineMs: number } {
    this.#nextId += 1;
    return { id: this.#nextId, lease: 1, deadlineMs: this.clock.nowMs() + this.#skewMs + 60_000 };
  }
}
