import { BenchError, quoted } from "../../../shared/bench-error.ts";
import type { SerialSettings } from "../../../shared/bench-file.ts";
import { type Clock, pause } from "../../../shared/clock.ts";
import type { RecorderDriver } from "../../../shared/driver-file.ts";
import type { RecorderChannel, Recording } from "../../../shared/recorder-entry.ts";
import type { RecordedChannel, RecordedRun } from "../../../shared/recording.ts";
import type { Link } from "../../link/link.ts";
import { parseErrorEntry } from "../../scpi/error-entry.ts";
import { formatNumber } from "../../scpi/number.ts";
import type { OpenLink } from "../connect-instrument.ts";
import { fetchChannel } from "./fetch-channel.ts";
import { RawTalk } from "./raw-talk.ts";

export interface RecorderOptions {
  name: string;
  address: string;
  /** The answer to `*IDN?` that it was identified by. */
  identity: string;
  driver: RecorderDriver;
  serial: SerialSettings;
  record: Recording;
  clock: Clock;
  openLink: OpenLink;
}

/** The trigger of a record: a channel, and the level in its own unit. */
export interface RecorderTrigger {
  channel: number;
  level: number;
}

const OPEN_WITHIN_MS = 1000;
/** The longest silence within an answer: a record of a slow line still comes byte by byte. */
const IDLE_MS = 2000;
const ARM_POLL_MS = 20;
const FETCH_POLL_MS = 50;
/** Before the trigger, as a share of what is recorded after it. */
const BEFORE = 0.1;
/** Of full scale (common practice, no source). */
const USUAL_ACCURACY = 0.03;

/**
 * A recorder by its driver's words. Each use has a connection of its own, which is closed before it answers: while anything is energised
 * nothing is said to it and nothing is heard of it.
 */
export class Recorder {
  readonly #options: RecorderOptions;
  #link: Link | null = null;

  constructor(options: RecorderOptions) {
    this.#options = options;
  }

  get name(): string {
    return this.#options.name;
  }

  /** Ends what it is doing: the connection goes, and whoever waits for an answer gets an error. */
  abandon(): void {
    void this.#link?.close();
  }

  /** Sets it up and starts one record, which then waits for its trigger. Throws BenchError where it does not come to that. */
  async arm(trigger: RecorderTrigger): Promise<void> {
    await this.#onLink(async (talk) => {
      await this.#mustBeItself(talk);
      await this.#setUp(talk, trigger);
      await talk.tell(this.#words.arm);
      for (;;) {
        if ((await this.#stateOf(talk)) === "waiting") return;
        await pause(this.#options.clock, ARM_POLL_MS);
      }
    });
  }

  /**
   * The recording since `arm`; null where nothing triggered it. Waits up to the record's own length for its end, then ends it.
   * Throws BenchError where it does not answer, answers something else, or what comes is not whole.
   */
  async fetch(trigger: RecorderTrigger): Promise<RecordedRun | null> {
    return await this.#onLink(async (talk) => {
      await this.#mustBeItself(talk);
      const { clock, record, name, identity, driver } = this.#options;
      const untilMs = clock.nowMs() + 1000 * record.seconds;
      let state = await this.#stateOf(talk);
      // After an early cut the record may still run; a record without a trigger by now will get none.
      while (state === "other" && clock.nowMs() < untilMs) {
        await pause(clock, FETCH_POLL_MS);
        state = await this.#stateOf(talk);
      }
      if (state !== "done") await talk.tell(this.#words.stop);
      if (state === "waiting") return null;
      const fetched = [];
      for (const [number, of] of this.#channels())
        fetched.push({ number, of, ...(await fetchChannel(talk, { name, driver, channel: number })) });
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

  async #setUp(talk: RawTalk, trigger: RecorderTrigger): Promise<void> {
    const { driver, record } = this.#options;
    const { prepare, prepareChannel, range, span, position, trigger: words } = this.#words;
    const say = (text: string, channel: number, value = 0): Promise<void> =>
      talk.tell(text.replaceAll("{channel}", String(channel)).replaceAll("{value}", formatNumber(value)));
    if (driver.wire.clear !== undefined) await talk.tell(driver.wire.clear);
    for (const text of prepare) await talk.tell(text);
    for (const [number, { rangeVolts }] of this.#channels()) {
      for (const text of prepareChannel) await say(text, number);
      if (range !== undefined && rangeVolts !== undefined)
        await say(range.tell, number, rangeVolts / (range.divisions ?? 1));
    }
    const seconds = record.seconds * (1 + BEFORE);
    const before = record.seconds * BEFORE;
    await say(span.tell, 0, seconds / (span.divisions ?? 1));
    await say(position.tell, 0, position.in === "percent" ? (100 * before) / seconds : seconds / 2 - before);
    const of = record.channels[String(trigger.channel)];
    if (of === undefined)
      throw this.#error("bad-input", `channel ${trigger.channel} should trigger it but is not recorded`);
    await say(words.source, trigger.channel);
    await say(words.level, trigger.channel, trigger.level / perVolt(of));
    if (driver.askError === null) return;
    const refused = parseErrorEntry(await talk.ask(driver.askError));
    if (refused !== undefined && refused.code !== 0)
      throw this.#error("setting-refused", `it refused a setting: ${refused.code}, ${quoted(refused.text)}`);
  }

  async #stateOf(talk: RawTalk): Promise<"waiting" | "done" | "other"> {
    const answer = (await talk.ask(this.#words.state.ask)).toUpperCase();
    const is = (words: readonly string[]): boolean => words.some((word) => answer.startsWith(word.toUpperCase()));
    return is(this.#words.state.waiting) ? "waiting" : is(this.#words.state.done) ? "done" : "other";
  }

  async #mustBeItself(talk: RawTalk): Promise<void> {
    const answer = await talk.ask("*IDN?");
    if (answer !== this.#options.identity)
      throw this.#error(
        "wrong-identity",
        `${quoted(answer)} answers; ${quoted(this.#options.identity)} answered before`,
      );
  }

  async #onLink<T>(work: (talk: RawTalk) => Promise<T>): Promise<T> {
    const { name, address, serial, clock, openLink, driver } = this.#options;
    const link = await openLink({ address, serial, clock, deadlineMs: OPEN_WITHIN_MS, isRaw: true });
    this.#link = link;
    try {
      const { terminator, gapMs } = driver.wire;
      return await work(new RawTalk({ name, link, clock, terminator, gapMs, idleMs: IDLE_MS }));
    } finally {
      this.#link = null;
      await link.close();
    }
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
