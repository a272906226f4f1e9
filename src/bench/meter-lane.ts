import { BenchError, type BenchErrorCode } from "../../shared/bench-error.ts";
import type { Clock } from "../../shared/clock.ts";
import type { ToBench } from "../../shared/ipc.ts";
import type { MeterReading, MeterReadSetting } from "../../shared/meter-reading.ts";
import { messageOf } from "../../shared/words/message-of.ts";
import type { Meter } from "../instrument/meter.ts";
import type { Supply } from "../instrument/supply.ts";
import { MeterColdCheck, readingOf, settingOf } from "./meter-cold-check.ts";
import type { FeedSource } from "./plan-runner-options.ts";

export interface MeterLaneOptions {
  meter: Meter;
  clock: Clock;
  /** Every output that is connected. */
  sources: ReadonlyMap<string, FeedSource>;
  /** True while no run is on; ohms and diode mode wait for that. */
  isIdle: () => boolean;
  onReadings: (readings: MeterReading[]) => void;
  onProblem: (cause: unknown) => void;
}

const BATCH_MS = 50;
/** A meter silent for longer is told of, once, until it reads again; no slower than its own reading. */
const SILENT_MS = 1500;
const AGAIN_AFTER_MS = 500;
/** A meter that answers in no time must not take the processor from the supplies: at most 100 readings a second. */
const LEAST_READING_MS = 10;
/** The interval at which a meter is asked whether it was switched off and on: it then reads volts, whatever it was set to. */
const RESTART_LOOK_MS = 250;

/**
 * Reads the meter on a link of its own: no supply and no cut ever waits for it, and a meter that fails is told of and
 * asked again by the identity it had. Nothing here can switch an output on.
 */
export class MeterLane {
  readonly #options: MeterLaneOptions;
  #batch: MeterReading[] = [];
  #stopTimer: (() => void) | undefined;
  /** Rises with each new setting; a loop of an older one ends. */
  #generation = 0;
  #isCold = false;
  /** The change back from ohms or diode mode: why it failed, or undefined once the meter reads volts again. */
  #leftCold: Promise<unknown> = Promise.resolve(undefined);
  #isReading = false;
  /** The kinds of trouble told since it last read. */
  readonly #told = new Set<BenchErrorCode>();
  #wake: () => void = () => {};

  constructor(options: MeterLaneOptions) {
    this.#options = options;
  }

  /**
   * Reads with this setting from now on. Resolves once the meter has taken it, or after 3 s where it does not answer: it
   * is then asked on. Throws BenchError "setting-refused", and for ohms and diode mode "output-unknown" where an output
   * is not proved off, "bad-input" while a run is on.
   */
  async read(setting: MeterReadSetting): Promise<void> {
    this.rest();
    const generation = this.#generation;
    const { meter } = this.#options;
    const words = meter.driver.functions[setting.function];
    if (words === undefined || (setting.channel !== null && words.readChannel === undefined)) {
      const what = setting.channel === null ? setting.function : `${setting.function} of a scanner's channel`;
      const why = `driver "${meter.driver.name}" has no command for ${what}`;
      throw this.#error("setting-refused", `read ${what}: ${why}`);
    }
    if (setting.function !== "volts") await this.#mustBeOff();
    if (generation !== this.#generation) return;
    this.#isCold = setting.function !== "volts";
    this.#isReading = true;
    await new Promise<void>((resolve, reject) => {
      const stop = this.#options.clock.after(2 * SILENT_MS, resolve);
      void this.#loop(generation, setting, (refusal) => {
        stop();
        if (refusal === undefined) resolve();
        else reject(refusal);
      });
    });
  }

  /** Asks a meter that rests whether it is there; one that is read shows it by its readings. Throws where it does not answer. */
  async look(): Promise<void> {
    if (!this.#isReading) await this.#options.meter.answers();
  }

  get name(): string {
    return this.#options.meter.name;
  }

  /** No further question is asked; an answer that is on its way is not told. */
  rest(): void {
    this.#generation += 1;
    this.#isReading = false;
    // Left in ohms it would go on driving its current into the board.
    if (this.#isCold) this.#leftCold = this.#leaveCold();
    this.#isCold = false;
    this.#told.clear();
    this.#wake();
    this.#flush();
  }

  /**
   * Ends ohms and diode mode, and waits until the meter has been set to volts and has read them: what follows may energise.
   * Throws what the meter threw where it does not.
   */
  async leaveColdBeforePower(): Promise<void> {
    if (this.#isCold) {
      this.rest();
      this.#options.onProblem(this.#notice("bad-input", "stopped measuring ohms, because a run begins"));
    }
    if ((await this.#leftCold) === undefined) return;
    this.#leftCold = this.#leaveCold();
    const cause = await this.#leftCold;
    if (cause === undefined) return;
    const why = messageOf(cause);
    const code = cause instanceof BenchError ? cause.code : "setting-refused";
    const { name } = this.#options.meter;
    const what = `Cannot run: meter "${name}" was measuring ohms and did not go back to volts (${why}). Take its probes off the board, or switch it off and connect again; nothing was energised`;
    throw new BenchError(code, what, { instrument: name });
  }

  /** No further question is asked; settles once the meter no longer drives a current, as far as it answers. */
  async restAndLeaveCold(): Promise<void> {
    this.rest();
    await this.#leftCold;
  }

  async #leaveCold(): Promise<unknown> {
    const { meter } = this.#options;
    try {
      await meter.configure({ function: "volts" });
      await meter.read({ function: "volts", channel: null });
      return undefined;
    } catch (cause) {
      return cause;
    }
  }

  async #mustBeOff(): Promise<void> {
    this.#mayBeCold();
    const { sources } = this.#options;
    if (sources.size === 0)
      throw this.#error("bad-input", "measure ohms: no supply is connected, so no output is known to be off");
    for (const [feed, { supply, channel }] of sources) await this.#mustReadOff(feed, supply, channel);
    this.#mayBeCold();
  }

  async #mustReadOff(feed: string, supply: Supply, channel: number): Promise<void> {
    let state: "on" | "off" | "unknown" = "unknown";
    try {
      state = await supply.outputState(channel);
    } catch (cause) {
      if (!(cause instanceof BenchError)) throw cause;
    }
    if (state !== "off")
      throw this.#error(
        "output-unknown",
        `measure ohms: the output of "${supply.name}" for feed "${feed}" reads ${state}`,
      );
  }

  #mayBeCold(): void {
    if (!this.#options.isIdle())
      throw this.#error(
        "bad-input",
        "measure ohms or use diode mode: a run is in progress, and only volts may be read",
      );
  }

  /** `answered` is called once, with the refusal where the setting was refused. */
  async #loop(generation: number, setting: MeterReadSetting, answered: (refusal?: unknown) => void): Promise<void> {
    const { meter, clock } = this.#options;
    const isOver = (): boolean => generation !== this.#generation;
    let stopWatch = (): void => {};
    const watchAnew = (): void => {
      stopWatch();
      stopWatch = this.#watchSilence(isOver);
    };
    const mayAsk = (): void => {
      watchAnew();
      if (isOver()) throw this.#error("link-closed", "read on: another setting was asked for");
      this.#mayBeCold();
    };
    const newCheck = () => new MeterColdCheck({ meter, setting, mayAsk });
    let cold = setting.function === "volts" ? undefined : newCheck();
    let isSet = setting.channel !== null || cold !== undefined;
    let lookedMs = clock.nowMs();
    let isAnswered = false;
    const answer = (refusal?: unknown): void => {
      if (!isAnswered) answered(refusal);
      isAnswered = true;
    };
    while (!isOver()) {
      const startedMs = clock.nowMs();
      watchAnew();
      try {
        if (!isSet) await meter.configure(settingOf(setting));
        isSet = true;
        if (isOver()) break;
        const reading = cold === undefined ? await this.#volts(setting) : await cold.next();
        if (isOver()) break;
        if (clock.nowMs() - lookedMs > RESTART_LOOK_MS && setting.channel === null) {
          lookedMs = clock.nowMs();
          if (await meter.hasRestarted()) {
            this.#tell(
              this.#notice(
                "link-closed",
                "was switched off and on; it is set up again, and its last reading does not count",
              ),
            );
            if (cold !== undefined) cold = newCheck();
            continue;
          }
          if (isOver()) break;
        }
        answer();
        this.#told.clear();
        this.#take(reading);
        const restMs = LEAST_READING_MS - (clock.nowMs() - startedMs);
        if (restMs > 0) await this.#pause(restMs);
      } catch (cause) {
        if (isOver()) break;
        if (!isPassing(cause)) {
          this.rest();
          if (isAnswered) this.#options.onProblem(cause);
          answer(cause);
          break;
        }
        this.#tell(cause);
        await this.#pause(AGAIN_AFTER_MS);
      } finally {
        stopWatch();
      }
    }
    answer();
  }

  async #volts(setting: MeterReadSetting): Promise<MeterReading> {
    const { meter } = this.#options;
    return readingOf(await meter.read({ function: "volts", channel: setting.channel }), setting, meter);
  }

  #watchSilence(isOver: () => boolean): () => void {
    const { meter, clock } = this.#options;
    return clock.after(Math.max(SILENT_MS, 4 * (meter.roundTrip.p99Ms ?? 0)), () => {
      if (!isOver()) this.#tell(this.#notice("no-reply", "does not answer; the program keeps asking"));
    });
  }

  /** Each kind of trouble once, until the meter reads again. */
  #tell(cause: unknown): void {
    const code = cause instanceof BenchError ? cause.code : "bad-message";
    if (this.#told.has(code)) return;
    this.#told.add(code);
    this.#options.onProblem(cause);
  }

  #pause(ms: number): Promise<void> {
    return new Promise((resolve) => {
      const cancel = this.#options.clock.after(ms, resolve);
      this.#wake = () => {
        cancel();
        resolve();
      };
    });
  }

  #take(reading: MeterReading): void {
    this.#batch.push(reading);
    this.#stopTimer ??= this.#options.clock.after(BATCH_MS, () => this.#flush());
  }

  #flush(): void {
    this.#stopTimer?.();
    this.#stopTimer = undefined;
    const readings = this.#batch.splice(0);
    if (readings.length > 0) this.#options.onReadings(readings);
  }

  /** A notice of the meter while the work goes on: no refusal, so it does not begin with "Cannot". */
  #notice(code: BenchErrorCode, what: string): BenchError {
    const { name } = this.#options.meter;
    return new BenchError(code, `Meter "${name}" ${what}; the outputs are unchanged`, { instrument: name });
  }

  #error(code: BenchErrorCode, what: string): BenchError {
    const { name } = this.#options.meter;
    return new BenchError(code, `Cannot ${what}; the outputs are unchanged`, { instrument: name });
  }
}

/** Does what the daemon asks of the meter. Throws as `read` does, and "setting-refused" where no meter is connected. */
export async function askMeter(
  lane: MeterLane | undefined,
  message: Extract<ToBench, { type: "meter-read" | "meter-rest" }>,
): Promise<void> {
  if (message.type === "meter-rest") lane?.rest();
  else if (lane !== undefined) await lane.read(message.setting);
  else
    throw new BenchError("setting-refused", "Cannot read the meter: no meter is connected; the outputs are unchanged");
}

/** False for what will not change by asking again: a refused setting, and what this lane itself refuses. */
const isPassing = (cause: unknown): boolean =>
  cause instanceof BenchError && !["setting-refused", "bad-input", "output-unknown"].includes(cause.code);
