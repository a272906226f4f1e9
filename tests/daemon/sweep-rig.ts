import { BenchError, type BenchErrorCode } from "../../shared/bench-error.ts";
import type { ScenarioFile } from "../../shared/files/scenario-file.ts";
import type { FromBench } from "../../shared/ipc.ts";
import type { MeterReading } from "../../shared/meter-reading.ts";
import type { JobEvent, StoredEvent } from "../../shared/record/job.ts";
import type { SweepLine } from "../../shared/sweep.ts";
import { SweepLine as SweepLines } from "../../shared/sweep.ts";
import { type PreparedRun, runHeader } from "../../src/daemon/run/prepare-run.ts";
import { accuracyOf, drawInput, RunFolding } from "../../src/daemon/run/run-fold.ts";
import type { GuidedSweep, SweepResult } from "../../src/daemon/sweep/guided-sweep.ts";
import { openSweep } from "../../src/daemon/sweep/open-sweep.ts";
import type { PoweredRun, SweepPower } from "../../src/daemon/sweep/sweep-power.ts";
import type { JobStore } from "../../src/job/store/job-store.ts";
import { uuidV7 } from "../../src/job/store/uuid-v7.ts";
import { beginSweep } from "../../src/sweep/begin-sweep.ts";
import { verdictOnDraw } from "../../src/verdict/draw-verdict.ts";
import { SimulatedBench } from "../bench/simulated-bench.ts";

type Of<T extends SweepLine["event"]> = Extract<SweepLine, { event: T }>;

/** What the hand does beyond the usual; false: it has dealt with this line, the usual is left out. */
export type HandDoes = (line: SweepLine, rig: SweepRig) => boolean | undefined;

export interface SweepRigOptions {
  scenario: string | ScenarioFile;
  cold?: boolean;
  diode?: boolean;
  group?: string;
  across?: { celsius: number | null };
  /** Longest on-time in place of the plan's, milliseconds. */
  maxOnMs?: number;
  /** Point to channel: the bench's meter then has a scanner. */
  scanner?: Record<string, number>;
  hand?: HandDoes;
}

/**
 * A sweep on the bench process's own code, real links and simulated instruments, on the hand-set clock: with a hand that
 * goes where it is told, and says `take` on what reads nothing.
 */
export class SweepRig {
  readonly bench: SimulatedBench;
  readonly lines: SweepLine[] = [];
  readonly filed: JobEvent[] = [];
  /** What a person said they did to the board. */
  readonly marks: { text: string; state: string | null }[] = [];
  desk!: GuidedSweep;
  readonly #options: SweepRigOptions;
  #prepared!: PreparedRun;
  #seen = 0;
  #nextId = 5000;
  readonly #listeners = new Set<(message: FromBench) => void>();
  #stopTaking: () => void = () => {};

  private constructor(bench: SimulatedBench, options: SweepRigOptions) {
    this.bench = bench;
    this.#options = options;
    const look = (): void => {
      bench.clock.after(2, look);
      for (; this.#seen < bench.sent.length; this.#seen++) {
        const message = bench.sent[this.#seen];
        if (message !== undefined) for (const each of [...this.#listeners]) each(message);
      }
    };
    look();
  }

  static async start(options: SweepRigOptions): Promise<SweepRig> {
    const bench = await SimulatedBench.start({ scenario: options.scenario });
    const rig = new SweepRig(bench, options);
    await rig.#open();
    return rig;
  }

  /** From the first volt, or the first point, to the last line. */
  async run(): Promise<SweepResult> {
    this.desk.start();
    return await this.bench.until(this.desk.done);
  }

  of<T extends SweepLine["event"]>(event: T): Of<T>[] {
    return this.lines.filter((line): line is Of<T> => line.event === event);
  }

  /** The last word on each rail. */
  get verdicts(): Record<string, string> {
    return Object.fromEntries(this.of("rail").map((each) => [each.rail, each.verdict]));
  }

  probe(point: string | null): void {
    this.bench.simulation.probe(point);
  }

  /** Does something once this much time has passed. */
  later(ms: number, does: () => void): () => void {
    return this.bench.clock.after(ms, does);
  }

  close(): Promise<void> {
    return this.bench.close();
  }

  async #open(): Promise<void> {
    const { cold = false, diode = false, maxOnMs, scanner, group, across } = this.#options;
    const { simulation } = this.bench;
    const benchFile = structuredClone(simulation.benchFile);
    const meter = benchFile.instruments["dmm"];
    if (meter !== undefined && scanner !== undefined) meter.scanner = scanner;
    const prepared = await this.bench.prepare({ watchSeconds: 1, keepOn: true, bench: benchFile });
    this.#prepared = maxOnMs === undefined ? prepared : { ...prepared, plan: { ...prepared.plan, maxOnMs } };
    const store: Pick<JobStore, "appendEvent" | "events" | "everPassed" | "dir"> = {
      events: async () => [],
      everPassed: async () => [],
      dir: "/nowhere",
      appendEvent: async (_job, event) => {
        this.filed.push(event);
        return { id: uuidV7(), seq: this.filed.length, recordedAt: "", event } satisfies StoredEvent;
      },
    };
    this.desk = await openSweep({
      begin: beginSweep,
      clock: this.bench.clock,
      side: this.#side(),
      bench: benchFile,
      board: simulation.boardFile ?? this.#noBoard(),
      instruments: prepared.instruments,
      prepared: cold ? null : this.#prepared,
      coldOhms: cold ? {} : simulation.coldOhms,
      diode,
      fourWire: false,
      blackAt: "board",
      keepOn: false,
      ...(group === undefined ? {} : { group }),
      ...(across === undefined ? {} : { across }),
      store: store as JobStore,
      job: uuidV7(),
    });
    this.desk.on("line", (line) => this.#take(SweepLines.parse(line)));
  }

  #noBoard(): never {
    throw new Error("a sweep needs a scenario with a board");
  }

  #take(line: SweepLine): void {
    this.lines.push(line);
    if (this.#options.hand?.(line, this) === false) return;
    if (line.event === "place-probe") {
      this.later(400, () => this.probe(line.rail));
      this.#stopTaking();
      // What reads nothing is not taken by itself; charging nodes are waited for.
      this.#stopTaking = this.later(line.quantity === "volts" ? 2500 : 15_000, () => this.desk.say("take"));
    } else if (line.event === "rail") {
      this.#stopTaking();
      this.later(250, () => this.probe(null));
    }
  }

  #ask(body: { type: string } & Record<string, unknown>): Promise<FromBench> {
    const id = ++this.#nextId;
    this.bench.bench.receive({ ...body, id, lease: 1, deadlineMs: this.bench.clock.nowMs() + 60_000 });
    return new Promise((resolve) => {
      const look = (message: FromBench): void => {
        if (!("id" in message) || message.id !== id) return;
        this.#listeners.delete(look);
        resolve(message);
      };
      this.#listeners.add(look);
    });
  }

  async #done(body: { type: string } & Record<string, unknown>): Promise<void> {
    const answer = await this.#ask(body);
    if (answer.type !== "problem") return;
    throw new BenchError(answer.problem.code as BenchErrorCode, answer.problem.message);
  }

  #side(): SweepPower {
    return {
      powerUp: () => this.#powerUp(),
      letGo: () => this.#done({ type: "stop", by: "the end of the sweep" }),
      cut: (by) => this.bench.bench.cut(by),
      measure: (setting) => this.#done({ type: "meter-read", setting }),
      rest: () => this.#done({ type: "meter-rest" }),
      onReadings: (listener: (readings: MeterReading[]) => void) => {
        const take = (message: FromBench): void => {
          if (message.type === "meter-readings") listener(message.readings);
        };
        this.#listeners.add(take);
        return () => void this.#listeners.delete(take);
      },
    };
  }

  async #powerUp(): Promise<PoweredRun> {
    const header = runHeader(this.#prepared, "sweep");
    const folding = new RunFolding(header.plan);
    const verdict = () =>
      verdictOnDraw(drawInput({ traces: folding.traces(accuracyOf(header)), outcome: folding.outcome }, header));
    let hold: (held: ReturnType<typeof verdict> | null) => void = () => {};
    let isHeld = false;
    const held = new Promise<ReturnType<typeof verdict> | null>((resolve) => {
      hold = resolve;
    });
    const ended = new Promise<Awaited<PoweredRun["ended"]>>((resolve) => {
      const take = (message: FromBench): void => {
        if (message.type === "events") {
          for (const event of message.events) folding.take(event);
          if (!isHeld && folding.outcome.output === "on") {
            isHeld = true;
            hold(verdict());
          }
        } else if (message.type === "ended") {
          this.#listeners.delete(take);
          hold(null);
          resolve({ outcome: message.outcome, verdict: verdict(), recordTrouble: null });
        }
      };
      this.#listeners.add(take);
    });
    const { plan, permit } = this.#prepared;
    await this.#done({ type: "run", record: header.capture, plan, permit, confirmsRaises: false });
    const mark = (text: string, state: string | null): boolean => {
      this.marks.push({ text, state });
      return true;
    };
    return { run: header.run, held, ended, mark };
  }
}
