import { EventEmitter } from "node:events";
import type { FromBench } from "../../shared/ipc.ts";
import type { MeterReading, MeterReadSetting } from "../../shared/meter-reading.ts";
import type { PlanEvent } from "../../shared/plan.ts";
import type { PreparedRun } from "../../src/daemon/run/prepare-run.ts";
import { type RunReport, SimulatedBench, type SimulatedBenchOptions } from "./simulated-bench.ts";

export const VOLTS: MeterReadSetting = {
  function: "volts",
  rangeUpTo: null,
  powerLineCycles: null,
  channel: null,
  leadNullOhms: null,
};
export const OHMS: MeterReadSetting = { ...VOLTS, function: "ohms" };

type MeterBenchOptions = Partial<SimulatedBenchOptions> & { watchSeconds?: number };
type ToMeter = { type: "meter-read"; setting: MeterReadSetting } | { type: "meter-rest" };

/** A connected bench on the hand-set clock, and what a daemon asks of its meter. */
export class MeterBench extends EventEmitter<{ "meter-readings": [{ readings: MeterReading[] }] }> {
  readonly bench: SimulatedBench;
  readonly #prepared: PreparedRun;
  #id = 1000;
  #told = 0;

  private constructor(bench: SimulatedBench, prepared: PreparedRun) {
    super();
    this.bench = bench;
    this.#prepared = prepared;
  }

  static async start({ watchSeconds = 3, ...options }: MeterBenchOptions = {}): Promise<MeterBench> {
    const bench = await SimulatedBench.start({ scenario: "normal", ...options });
    return new MeterBench(bench, await bench.prepare({ watchSeconds }));
  }

  get simulation(): SimulatedBench["simulation"] {
    return this.bench.simulation;
  }

  /** What was told of the meter so far, but for its readings. */
  get problems(): { code: string; message: string }[] {
    return this.bench.sent.flatMap((each) => (each.type === "problem" ? [each.problem] : []));
  }

  get readings(): MeterReading[] {
    return this.bench.sent.flatMap((each) => (each.type === "meter-readings" ? each.readings : []));
  }

  /** Asks, without waiting for the answer; answers with the message's id. */
  ask(body: ToMeter): number {
    this.#id += 1;
    this.bench.bench.receive({ ...body, id: this.#id, lease: 1, deadlineMs: this.bench.clock.nowMs() + 60_000 });
    return this.#id;
  }

  /** Asks and lets time pass until it is answered. */
  read(setting: MeterReadSetting): Promise<FromBench> {
    return this.bench.until(this.#answer(this.ask({ type: "meter-read", setting })));
  }

  /** Powers the board up on the connection there is, with whatever its meter is doing. */
  run(onEvent?: (event: PlanEvent) => void): Promise<RunReport> {
    return this.bench.follow(this.#prepared, onEvent === undefined ? {} : { onEvent });
  }

  rest(): Promise<FromBench> {
    return this.bench.until(this.#answer(this.ask({ type: "meter-rest" })));
  }

  /** As the daemon's client has it: throws the problem, and hands readings on as events. */
  async readMeter(setting: MeterReadSetting): Promise<void> {
    const answer = await this.#answer(this.ask({ type: "meter-read", setting }));
    if (answer.type === "problem") throw new Error(answer.problem.message);
    this.#handOn();
  }

  async restMeter(): Promise<void> {
    await this.#answer(this.ask({ type: "meter-rest" }));
  }

  /** What was read while this much time passed. */
  async during(ms: number): Promise<MeterReading[]> {
    const before = this.readings.length;
    await this.bench.pass(ms);
    return this.readings.slice(before);
  }

  close(): Promise<void> {
    return this.bench.close();
  }

  #handOn(): void {
    const { readings } = this;
    if (readings.length > this.#told) this.emit("meter-readings", { readings: readings.slice(this.#told) });
    this.#told = readings.length;
    this.bench.clock.after(50, () => this.#handOn());
  }

  #answer(wanted: number): Promise<FromBench> {
    return new Promise((resolve) => {
      const look = (): void => {
        const found = this.bench.sent.find((each) => "id" in each && each.id === wanted);
        if (found !== undefined) resolve(found);
        else this.bench.clock.after(5, look);
      };
      look();
    });
  }
}
