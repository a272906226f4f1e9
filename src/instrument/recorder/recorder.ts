import { BenchError, quoted } from "../../../shared/bench-error.ts";
import { type Clock, pause } from "../../../shared/clock.ts";
import type { RecorderDriver } from "../../../shared/files/driver-file.ts";
import type { RecorderChannel, Recording } from "../../../shared/files/recorder-entry.ts";
import type { RecordedChannel, RecordedRun } from "../../../shared/record/recording.ts";
import { parseErrorEntry } from "../../scpi/error-entry.ts";
import { formatNumber } from "../../scpi/number.ts";
import type { Conversation } from "./conversation.ts";
import { fetchChannel } from "./fetch-channel.ts";
import type { RawTalk } from "./raw-talk.ts";

export interface RecorderOptions {
  name: string;
  /** The answer to `*IDN?` that it was identified by. */
  identity: string;
  driver: RecorderDriver;
  record: Recording;
  clock: Clock;
  conversation: Conversation;
  /**
   * Of a buffer: reads its instrument as a run does, and answers how long that took, ms. Tried before and after it is armed: an instrument that
   * reads more slowly, or not at all, with its buffer armed is not kept armed.
   */
  readHost?: () => Promise<number>;
}

/** The trigger of a record: a channel, and the level in its own unit. */
export interface RecorderTrigger {
  channel: number;
  level: number;
}

const ARM_POLL_MS = 20;
const FETCH_POLL_MS = 50;
/** Before the trigger, as a share of what is recorded after it. */
const BEFORE = 0.1;
/** Of full scale (common practice, no source). */
const USUAL_ACCURACY = 0.03;
/** Readings of a host before and after its buffer is armed. */
const HOST_READINGS = 3;
/** They may take longer then by this factor, and by so many milliseconds. */
const SLOWER = 2;
const SLOWER_MS = 20;
/** An error queue that is longer than this is not read to its end. */
const MOST_ERRORS = 20;

/**
 * A recorder by its driver's words. While anything is energised nothing is said to it and nothing is heard of it: one with a link of its own has
 * no connection then, and the buffer of a supply or a meter is not asked.
 */
export class Recorder {
  readonly #options: RecorderOptions;

  constructor(options: RecorderOptions) {
    this.#options = options;
  }

  get name(): string {
    return this.#options.name;
  }

  /** The kind of instrument that it is the buffer of, on that instrument's own link; null: an instrument of its own. */
  get inside(): "supply" | "meter" | null {
    return this.#options.conversation.inside;
  }

  /** Ends what it is doing: whoever waits for an answer gets an error. */
  abandon(): void {
    this.#options.conversation.abandon();
  }

  /** Sets it up and starts one record, which then waits for its trigger. Throws BenchError where it does not come to that. */
  async arm(trigger: RecorderTrigger): Promise<void> {
    const usualMs = await this.#hostReads();
    try {
      await this.#options.conversation.use(async (talk) => {
        await this.#mustBeItself(talk);
        await this.#setUp(talk, trigger);
        await this.#sayForAll(talk, this.#words.arm);
        for (;;) {
          if ((await this.#stateOf(talk, trigger)) === "waiting") return;
          await pause(this.#options.clock, ARM_POLL_MS);
        }
      });
      const armedMs = await this.#hostReads();
      if (armedMs > SLOWER * usualMs + SLOWER_MS)
        throw this.#error(
          "setting-refused",
          `its instrument takes ${Math.round(armedMs)} ms for a reading with the buffer armed, ${Math.round(usualMs)} ms without`,
        );
    } catch (cause) {
      await this.release().catch(() => {});
      throw cause;
    }
  }

  /** Ends a record of a supply's or meter's buffer, and lets the instrument read as it did before. Nothing for one with a link of its own. */
  async release(): Promise<void> {
    if (this.inside === null) return;
    await this.#options.conversation.use((talk) => this.#letGo(talk));
  }

  /**
   * The recording since `arm`; null where nothing triggered it. Waits up to the record's own length for its end, then ends it.
   * Throws BenchError where it does not answer, answers something else, or what comes is not whole.
   */
  async fetch(trigger: RecorderTrigger): Promise<RecordedRun | null> {
    return await this.#options.conversation.use(async (talk) => {
      await this.#mustBeItself(talk);
      const { clock, record, name, identity, driver } = this.#options;
      const untilMs = clock.nowMs() + 1000 * record.seconds;
      let state = await this.#stateOf(talk, trigger);
      // After an early cut the record may still run; a record without a trigger by now will get none.
      while (state === "other" && clock.nowMs() < untilMs) {
        await pause(clock, FETCH_POLL_MS);
        state = await this.#stateOf(talk, trigger);
      }
      if (state !== "done") await this.#sayForAll(talk, this.#words.stop);
      const fetched = [];
      for (const [number, of] of state === "waiting" ? [] : this.#channels()) {
        const fill = (text: string): string => this.#filled(text, [number, of]);
        const firstSeconds = -BEFORE * record.seconds;
        fetched.push({
          number,
          of,
          ...(await fetchChannel(talk, { name, driver, channel: number, fill, firstSeconds })),
        });
      }
      if (this.inside !== null) await this.#letGo(talk);
      const [first] = fetched;
      if (first === undefined) return null;
      const odd = fetched.find(
        (each) => each.stepSeconds !== first.stepSeconds || each.volts.length !== first.volts.length,
      );
      if (odd !== undefined)
        throw this.#error("bad-reply", `channel ${odd.number} has a different time axis than channel ${first.number}`);
      return {
        instrument: name,
        identity,
        driver: driver.name,
        firstMs: 1000 * first.firstSeconds,
        stepMs: 1000 * first.stepSeconds,
        trigger,
        channels: fetched.map((each) => asRecorded(each)),
      };
    });
  }

  get #words(): RecorderDriver["recorder"] {
    return this.#options.driver.recorder;
  }

  #channels(): [number, RecorderChannel][] {
    return Object.entries(this.#options.record.channels).map(([number, of]) => [Number(number), of]);
  }

  /** Longest of a few readings of the instrument that the buffer is in, ms; 0 where it is in none. */
  async #hostReads(): Promise<number> {
    const { readHost } = this.#options;
    let longestMs = 0;
    for (let i = 0; readHost !== undefined && i < HOST_READINGS; i++) longestMs = Math.max(longestMs, await readHost());
    return longestMs;
  }

  #filled(text: string, [number, of]: [number, RecorderChannel], value = 0): string {
    return text
      .replaceAll("{channel}", String(of.output ?? number))
      .replaceAll("{quantity}", this.#words.quantities?.[of.reads] ?? "")
      .replaceAll("{value}", formatNumber(value));
  }

  /** A text that names a channel is said for each that there is, once for each form that it takes; anything else once. */
  async #sayForAll(talk: RawTalk, text: string, value = 0): Promise<void> {
    for (const said of new Set(this.#channels().map((each) => this.#filled(text, each, value)))) await talk.tell(said);
  }

  async #setUp(talk: RawTalk, trigger: RecorderTrigger): Promise<void> {
    const { driver, record } = this.#options;
    const { prepare, prepareChannel, range, span, position, trigger: words } = this.#words;
    // Of a supply or a meter the status registers are not this recorder's to clear.
    if (driver.wire.clear !== undefined && this.inside === null) await talk.tell(driver.wire.clear);
    for (const text of prepare) await this.#sayForAll(talk, text);
    for (const each of this.#channels()) {
      const { rangeVolts } = each[1];
      for (const text of prepareChannel) await talk.tell(this.#filled(text, each));
      if (range !== undefined && rangeVolts !== undefined)
        await talk.tell(this.#filled(range.tell, each, rangeVolts / (range.divisions ?? 1)));
    }
    const seconds = record.seconds * (1 + BEFORE);
    const before = record.seconds * BEFORE;
    await this.#sayForAll(talk, span.tell, seconds / (span.divisions ?? 1));
    const at = { "seconds-from-middle": seconds / 2 - before, percent: (100 * before) / seconds };
    await this.#sayForAll(
      talk,
      position.tell,
      position.in === "samples" ? Math.round((position.of * before) / seconds) : at[position.in],
    );
    const of = record.channels[String(trigger.channel)];
    if (of === undefined)
      throw this.#error("bad-input", `channel ${trigger.channel} should trigger it but is not recorded`);
    await talk.tell(this.#filled(words.source, [trigger.channel, of]));
    await talk.tell(this.#filled(words.level, [trigger.channel, of], trigger.level / perVolt(of)));
    await this.#mustHaveTaken(talk);
  }

  async #mustHaveTaken(talk: RawTalk): Promise<void> {
    const { askError } = this.#options.driver;
    if (askError === null) return;
    let first: { code: number; text: string } | null = null;
    // Read to its end: what stayed there would be taken for the answer to a setting of the run.
    for (let i = 0; i < MOST_ERRORS; i++) {
      const entry = parseErrorEntry(await talk.ask(askError));
      if (entry === undefined || entry.code === 0) break;
      first ??= entry;
    }
    if (first !== null)
      throw this.#error("setting-refused", `it refused a setting: ${first.code}, ${quoted(first.text)}`);
  }

  async #letGo(talk: RawTalk): Promise<void> {
    await this.#sayForAll(talk, this.#words.stop);
    for (const text of this.#words.release) await this.#sayForAll(talk, text);
    await this.#mustHaveTaken(talk).catch(() => {});
  }

  async #stateOf(talk: RawTalk, { channel }: RecorderTrigger): Promise<"waiting" | "done" | "other"> {
    const { ask, mask, waiting, done } = this.#words.state;
    const of = this.#options.record.channels[String(channel)];
    const said = (await talk.ask(of === undefined ? ask : this.#filled(ask, [channel, of]))).toUpperCase();
    const answer = mask === undefined ? said : String(Number(said) & mask);
    const is = (words: readonly string[]): boolean =>
      words.some((word) => (mask === undefined ? answer.startsWith(word.toUpperCase()) : answer === word));
    return is(waiting) ? "waiting" : is(done) ? "done" : "other";
  }

  /** A session has proved already who is at its end. */
  async #mustBeItself(talk: RawTalk): Promise<void> {
    if (this.inside !== null) return;
    const answer = await talk.ask("*IDN?");
    if (answer !== this.#options.identity)
      throw this.#error(
        "wrong-identity",
        `${quoted(answer)} answers; ${quoted(this.#options.identity)} answered before`,
      );
  }

  #error(code: "bad-reply" | "bad-input" | "wrong-identity" | "setting-refused", says: string): BenchError {
    return new BenchError(code, `Cannot use recorder "${this.name}": ${says}`, { instrument: this.name });
  }
}

/** The channel's own unit for a volt at the input. */
const perVolt = ({ probe, shuntOhms, voltsPerAmp }: RecorderChannel): number => probe / (shuntOhms ?? voltsPerAmp ?? 1);

function asRecorded({
  number,
  of,
  volts,
  stepVolts,
  spanVolts,
  clipped,
}: { number: number; of: RecorderChannel } & Awaited<ReturnType<typeof fetchChannel>>): RecordedChannel {
  const factor = perVolt(of);
  const fullScale = of.rangeVolts ?? spanVolts;
  const halfWidth = (of.accuracyShare ?? USUAL_ACCURACY) * fullScale + stepVolts / 2;
  return { channel: number, of, values: volts.map((each) => each * factor), halfWidth: halfWidth * factor, clipped };
}
