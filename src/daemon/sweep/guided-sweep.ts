import { EventEmitter } from "node:events";
import { BenchError } from "../../../shared/bench-error.ts";
import type { Clock } from "../../../shared/clock.ts";
import type { DrawVerdict } from "../../../shared/draw-verdict.ts";
import type { BoardFile } from "../../../shared/files/board-file.ts";
import type { FaultData } from "../../../shared/files/fault-data.ts";
import type { MeterReadSetting } from "../../../shared/meter-reading.ts";
import type { ColdReadings } from "../../../shared/permit.ts";
import type { HostCondition } from "../../../shared/record/diagnosis.ts";
import {
  type SweepCapture,
  type SweepEffect,
  type SweepEnding,
  type SweepEvent,
  type SweepLine,
  type SweepQuantity,
  type SweepRail,
  type SweepSteps,
  type SweepWord,
  withoutReading,
} from "../../../shared/sweep.ts";
import { messageOf } from "../../../shared/words/message-of.ts";
import { isVerdict } from "../../../shared/words/nothing-learned.ts";
import { neverPower } from "../../analysis/cold-judgement.ts";
import type { JobStore } from "../../job/store/job-store.ts";
import type { GoodValue } from "../../verdict/sweep/group-verdict.ts";
import { judgeCapture } from "../../verdict/sweep/sweep-judge.ts";
import { coldOhmsIn, diagnosisReadings } from "../../verdict/sweep/sweep-readings.ts";
import { diagnoseAside } from "../process/diagnose-aside.ts";
import { RailJudge } from "./rail-judge.ts";
import { askedBeside, ofTheBoard, overFiled } from "./sweep-conclusion.ts";
import { lineOf, valued } from "./sweep-lines.ts";
import type { PoweredEnd, PoweredRun, SweepPower } from "./sweep-power.ts";
import { SweepRecord } from "./sweep-record.ts";

export interface GuidedSweepOptions {
  bench: SweepPower;
  clock: Clock;
  /** The machine, before its first event. */
  sweep: SweepSteps;
  board: BoardFile;
  data: FaultData;
  store: Pick<JobStore, "appendEvent" | "events">;
  job: string;
  cold: boolean;
  /** Identity of the meter; null: values are typed in. */
  meter: { name: string; identity: string; leadNullOhms: number | null } | null;
  /** Cold readings from before the sweep: what the permit rests on. */
  coldOhms: ColdReadings;
  /** Longest on-time; reached, the board cools four times as long. Hot only. */
  maxOnMs: number;
  /** The watch before the rails are probed, seconds; told with the draw. */
  watchSeconds: number;
  /** Resistance of the return lead, where the black probe is at the supply's end of it; null: on the board's own ground. */
  returnOhms: number | null;
  /** The host that was stated; null: nobody said. */
  host: HostCondition | null;
  /** Leaves the outputs on at the end, watched, for whoever holds the run. */
  keepOn: boolean;
  /** The group that is visited in place of the rails, and what good boards read at its points. */
  group?: { group: string; good: ReadonlyMap<string, GoodValue> };
  /** Temperature of the parts over which millivolts are read; null not known. */
  partCelsius?: number | null;
}

export interface GuidedSweepEvents {
  line: [SweepLine];
}

export interface SweepResult {
  done: Extract<SweepLine, { event: "done" }>;
  /** The end of the last power-up; null where none did, or its outputs are still on. */
  end: PoweredEnd | null;
  recordTrouble: string | null;
}

const TICK_MS = 250;
/** Live readings are told no more often than this; what is taken is told at once. */
const SHOW_MS = 200;
/** A board that was on for its longest on-time is left off for so many times that long. */
const COOL_TIMES = 4;
const COOL_TOLD_MS = 5000;
/** A board is not powered up again and again for a hand that is not there. */
const MOST_IN_VAIN = 2;

/**
 * A sweep from its power-up to its diagnosis: runs the machine on the meter's readings, holds the board on, cuts and cools
 * it at its longest on-time and comes back, judges and files each value. Everything it has to say is a `line`; `say` and
 * `type` steer it. `done` settles once, with the outputs off and the record written.
 */
export class GuidedSweep extends EventEmitter<GuidedSweepEvents> {
  readonly done: Promise<SweepResult>;
  readonly #options: GuidedSweepOptions;
  readonly #record: SweepRecord;
  readonly #rails = new Map<number, SweepRail>();
  readonly #judge: RailJudge;
  readonly #runs: string[] = [];
  #settle: (result: SweepResult) => void = () => {};
  #starting: Promise<PoweredRun> | null = null;
  #powered: PoweredRun | null = null;
  #poweredAtMs = 0;
  /** A power-up did not begin, nor say what is on. */
  #isInDoubt = false;
  /** True once the rails could be probed in this power-up: without that there is no use in another. */
  #hasHeld = false;
  #end: PoweredEnd | null = null;
  /** Whether this power-up gave a value, and how many in a row gave none. */
  #hasValue = false;
  #inVain = 0;
  #draw: DrawVerdict | null = null;
  #setting: MeterReadSetting | null = null;
  #shownAtMs = Number.NEGATIVE_INFINITY;
  #shown = "";
  #isOver = false;
  #stopTick: () => void = () => {};
  #stopCooling: () => void = () => {};
  #stopReadings: () => void = () => {};

  constructor(options: GuidedSweepOptions) {
    super();
    this.#options = options;
    this.#judge = new RailJudge(options, this.#rails);
    this.#record = new SweepRecord({
      store: options.store,
      job: options.job,
      onTrouble: (cause) => void this.#finish("failed", [`the record can no longer be written: ${messageOf(cause)}`]),
    });
    this.done = new Promise((resolve) => {
      this.#settle = resolve;
    });
  }

  /** Begins: powers up where it is to, and names the first point once the board is held on. Called once. */
  start(): void {
    const { board, cold, meter, sweep, bench, clock } = this.#options;
    // Volts over a part are no rail's: they are not missed where they were not read.
    const points = sweep.points.filter((each) => each.kind !== "part").map((each) => each.rail);
    this.#record.begin({ cold, board: board.name, points, meter });
    this.#stopReadings = bench.onReadings((readings) => {
      for (const reading of readings) this.#take({ event: "reading", atMs: reading.atMs, reading });
    });
    const tick = (): void => {
      this.#stopTick = clock.after(TICK_MS, tick);
      this.#take({ event: "tick", atMs: clock.nowMs() });
    };
    this.#stopTick = clock.after(TICK_MS, tick);
    if (cold) this.#take({ event: "begin", atMs: clock.nowMs() });
    else void this.#powerUp("begin");
  }

  /** A word of the person; one that means nothing now changes nothing. */
  say(word: SweepWord): void {
    // While it powers up or cools there is no point to say anything of, but it can be ended.
    if (word === "stop" && this.#options.sweep.at === null)
      void this.#finish("stopped", ["stopped before the first point"]);
    else this.#take({ event: "say", atMs: this.#options.clock.nowMs(), word });
  }

  /** A value read off another meter; null is an open circuit. */
  type(quantity: SweepQuantity, value: number | null): void {
    this.#take({ event: "typed", atMs: this.#options.clock.nowMs(), quantity, value });
  }

  /**
   * Files a person's action on the board while it is on. `text` null is "I press the key now": the board is then in its next state of power.
   * Answers with a sentence where nothing came of it.
   */
  mark(text: string | null): string | null {
    const state = text === null ? this.#judge.next : null;
    if (text === null && state === null)
      return this.#options.board.states === undefined
        ? "The board file names no states of power; type mark and what you did."
        : "The board is already in its last state of power.";
    const said = text ?? state?.after ?? "";
    if (this.#powered?.mark(said, state?.name ?? null) !== true) return "The board is not on; nothing was filed.";
    if (state !== null) this.#judge.state = state.name;
    this.#tell({ event: "mark", text: said, state: state?.name ?? null });
    return null;
  }

  /** Somebody has cut: what was read so far is filed and diagnosed. */
  cut(by: string): void {
    void this.#finish("cut", [`cut by ${by}`]);
  }

  async #powerUp(then: "begin" | "resume"): Promise<void> {
    const { bench, clock, watchSeconds } = this.#options;
    this.#hasHeld = false;
    this.#hasValue = false;
    this.#judge.state = undefined;
    this.#poweredAtMs = clock.nowMs();
    this.#starting = bench.powerUp();
    let powered: PoweredRun;
    try {
      powered = await this.#starting;
    } catch (cause) {
      this.#starting = null;
      this.#isInDoubt = cause instanceof BenchError && cause.detail["output"] === "unknown";
      return await this.#finish("failed", [messageOf(cause)]);
    }
    this.#powered = powered;
    this.#starting = null;
    this.#runs.push(powered.run);
    void powered.ended.then((end) => this.#onOff(powered, end));
    const verdict = await powered.held;
    if (verdict === null || this.#isOver) return;
    this.#hasHeld = true;
    this.#draw = verdict;
    this.#tell({ event: "draw", class: verdict.class, watchedFor: watchSeconds });
    this.#take({ event: then, atMs: clock.nowMs() });
  }

  /** The outputs are off: as asked, at the longest on-time, or because of the board, the bench or a person. */
  #onOff(powered: PoweredRun, end: PoweredEnd): void {
    this.#powered = null;
    this.#end = end;
    if (isVerdict(end.verdict) && (end.verdict.features.plateauAmps !== null || this.#draw === null))
      this.#draw = end.verdict;
    if (this.#isOver) return;
    const { ended, trip, output } = end.outcome;
    const isOnTime = output === "off" && (ended === "as-planned" || trip?.rule === "on-time");
    if (isOnTime && this.#hasHeld) {
      this.#inVain = this.#hasValue ? 0 : this.#inVain + 1;
      if (this.#inVain < MOST_IN_VAIN) return this.#cool();
      const because = `the board was on for its longest on-time ${MOST_IN_VAIN} times and no value was taken: is anybody there?`;
      return void this.#finish("stopped", [because]);
    }
    const why = trip?.because ?? `the run ${powered.run} ended ${ended}`;
    const how: SweepEnding =
      ended === "board-stopped" ? "board-stopped" : ended === "stopped-by-person" ? "cut" : "failed";
    void this.#finish(how, [why]);
  }

  #cool(): void {
    const { clock, maxOnMs, sweep } = this.#options;
    this.#take({ event: "pause", atMs: clock.nowMs() });
    // Heat may have ended it sooner than the longest on-time; what it was on for is what it cools from.
    const wasOnMs = Math.min(maxOnMs, clock.nowMs() - this.#poweredAtMs);
    const coolMs = COOL_TIMES * wasOnMs;
    const dueAtMs = clock.nowMs() + coolMs;
    const because = `on for its longest on-time, ${Math.round(wasOnMs / 1000)} s; now off for ${Math.round(coolMs / 1000)} s`;
    const look = (): void => {
      const leftMs = dueAtMs - clock.nowMs();
      if (this.#isOver) return;
      if (leftMs <= 0) return void this.#powerUp("resume");
      this.#tell({ event: "cooling", rail: sweep.at?.rail ?? null, secondsLeft: Math.ceil(leftMs / 1000), because });
      this.#stopCooling = clock.after(Math.min(leftMs, COOL_TOLD_MS), look);
    };
    look();
  }

  #take(event: SweepEvent): void {
    if (this.#isOver) return;
    for (const effect of this.#options.sweep.take(event)) this.#do(effect);
  }

  #do(effect: SweepEffect): void {
    const { sweep, bench, clock } = this.#options;
    switch (effect.effect) {
      case "measure":
        this.#setting = effect.setting;
        return void bench.measure(effect.setting).catch((cause: unknown) => this.#notMeasured(cause));
      case "rest":
        return void bench.rest().catch(() => undefined);
      case "captured":
        return this.#captured(effect.capture);
      case "finished":
        return void this.#finish(effect.ended, []);
      case "show": {
        const kind = `${effect.index} ${effect.motion}`;
        if (kind === this.#shown && clock.nowMs() - this.#shownAtMs < SHOW_MS) return;
        this.#shown = kind;
        this.#shownAtMs = clock.nowMs();
        break;
      }
      default:
    }
    const line = lineOf(effect, sweep.points, sweep.points.length - this.#rails.size);
    if (line === null) return;
    this.#tell(line);
    const text = line.event === "place-probe" ? this.#judge.hintAt(line.rail) : null;
    if (text !== null && line.event === "place-probe") this.#tell({ event: "hint", rail: line.rail, text });
  }

  /** Lets a person type values in place of a meter that cannot read; not while an output is not proved off. */
  #notMeasured(cause: unknown): void {
    const text = messageOf(cause);
    const isUnsafe = cause instanceof BenchError && cause.code === "output-unknown";
    if (isUnsafe) void this.#finish("failed", [text]);
    else if (!this.#isOver) this.#tell({ event: "hint", rail: this.#options.sweep.at?.rail ?? null, text });
  }

  #captured(capture: SweepCapture): void {
    const { sweep, board, cold } = this.#options;
    const point = sweep.points[capture.index];
    if (point === undefined) return;
    this.#hasValue = true;
    const taken = { point, capture, setting: this.#setting ?? point.setting, run: this.#powered?.run ?? null };
    const judged = this.#judge.take(taken, this.#draw?.features.plateauAmps ?? 0);
    this.#rails.set(capture.index, judged);
    const never = cold ? neverPower(board, this.#coldOhms()).get(point.rail) : undefined;
    const rail: SweepRail = never === undefined ? judged : { ...judged, neverPower: never };
    this.#rails.set(capture.index, rail);
    this.#record.rail(point, rail, taken.setting, taken.run);
    if (capture.value !== null || capture.overload) {
      const value = valued(point.quantity, capture.value, capture.overload);
      this.#tell({ event: "reading", rail: point.rail, ...value, stable: capture.moving === "no", motion: "steady" });
    }
    this.#tell({ event: "rail", ...rail });
  }

  #coldOhms(): ColdReadings {
    return { ...this.#options.coldOhms, ...coldOhmsIn(ofTheBoard([...this.#rails.values()])) };
  }

  async #finish(ended: SweepEnding, because: string[]): Promise<void> {
    if (this.#isOver) return;
    this.#isOver = true;
    const { bench, board, data, cold, coldOhms, job, keepOn, sweep } = this.#options;
    this.#stopTick();
    this.#stopCooling();
    this.#stopReadings();
    // A meter that is gone cannot rest; the readings it may still send are nobody's.
    void bench.rest().catch(() => undefined);
    const isKept = keepOn && ended === "all-visited" && this.#powered !== null;
    if (!isKept) await this.#switchOff();
    for (const { index, point, rail, setting, run } of this.#judge.changed()) {
      this.#rails.set(index, rail);
      this.#record.rail(point, rail, setting, run);
    }
    const rails = sweep.points.map(
      (point, index) => this.#rails.get(index) ?? judgeCapture(point, withoutReading(index, "not-visited"), NO_DROP),
    );
    const never = cold ? [...neverPower(board, this.#coldOhms()).values()] : [];
    const draw = cold ? null : (this.#draw?.class ?? null);
    const known = diagnosisReadings(board, ofTheBoard(rails), { draw, cold: coldOhms });
    const { state } = this.#judge;
    const now = state === undefined ? known : { ...known, state };
    const asked = askedBeside({ ...this.#options, points: sweep.points }, rails);
    const end = { runs: this.#runs, ended, because, draw, neverPower: never, ...asked };
    const readings = await overFiled(this.#options, now, { ...end, sweep: this.#record.sweep });
    const diagnosis = await diagnoseAside({ board, readings, data, shop: null }).catch(() => null);
    await this.#record.end({ ...end, diagnosis }, ofTheBoard([...this.#rails.values()]));
    const done = {
      event: "done" as const,
      ended,
      because,
      rails,
      diagnosis,
      draw,
      readings,
      neverPower: never,
      ...asked,
      output: isKept ? ("on" as const) : this.#isInDoubt ? ("unknown" as const) : (this.#end?.outcome.output ?? "off"),
      job,
      trip: this.#end?.outcome.trip ?? null,
    };
    this.#tell(done);
    this.#settle({
      done,
      end: isKept ? null : this.#end,
      recordTrouble: this.#record.trouble ?? this.#end?.recordTrouble ?? null,
    });
  }

  async #switchOff(): Promise<void> {
    const { bench } = this.#options;
    const powered = (await this.#starting?.catch(() => null)) ?? this.#powered;
    if (powered === null) return;
    // A power-up that does not take an orderly end is cut; its end is told by its own message.
    await bench.letGo().catch(() => bench.cut("the end of the sweep"));
    this.#end = await powered.ended;
  }

  /** The way in which the outputs that were left on at the end went off. */
  get heldUntil(): Promise<PoweredEnd> {
    const { ended } = this.#powered ?? {};
    const end = this.#end;
    return ended ?? (end === null ? Promise.reject(new Error("the sweep energised nothing")) : Promise.resolve(end));
  }

  #tell(line: SweepLine): void {
    this.emit("line", line);
  }
}

const NO_DROP = { groundDropVolts: 0 };
