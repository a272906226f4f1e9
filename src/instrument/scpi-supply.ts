import { BenchError, type BenchErrorCode } from "../../shared/bench-error.ts";
import type { Clock } from "../../shared/clock.ts";
import type { Accuracy, SerialSettings } from "../../shared/files/bench-file.ts";
import type { SupplyDriver } from "../../shared/files/driver-file.ts";
import { parseEventStatus } from "../scpi/event-status.ts";
import type { Identity } from "../scpi/identity.ts";
import { askAgain } from "./ask-again.ts";
import { askRatings } from "./ask-ratings.ts";
import type { Capabilities } from "./capabilities.ts";
import { drainErrors, errorsInWords } from "./error-queue.ts";
import { OffLane } from "./off-lane.ts";
import { proveOff } from "./prove-off.ts";
import { ReadingQuestions } from "./reading-questions.ts";
import type { RoundTripFigures } from "./round-trips.ts";
import type { InstrumentSession } from "./session.ts";
import {
  mustAgree,
  mustHaveProtections,
  outputFrom,
  readSettings,
  type SettingName,
  type SettingsContext,
  sendSetting,
  settingOrder,
  withoutStandingDelay,
} from "./settings.ts";
import { fill, type Speech } from "./speech.ts";
import type {
  ChannelSettings,
  OffBytes,
  Supply,
  SupplyReading,
  SupplyTraits,
  SwitchOnGuard,
  WantedSettings,
} from "./supply.ts";
import { supplyError } from "./supply-error.ts";
import { SupplyProtections } from "./supply-protections.ts";
import { SupplyWatchdog } from "./supply-watchdog.ts";
import type { ValueGrammar } from "./values.ts";

export interface ScpiSupplyOptions {
  session: InstrumentSession;
  clock: Clock;
  driver: SupplyDriver;
  driverWhy: string[];
  speech: Speech;
  capabilities: Capabilities;
  accuracy: Accuracy;
  serial: SerialSettings;
  /** Said after connecting; said again by a cut. */
  remote: string | undefined;
}

/** A supply that speaks SCPI, by a driver's words. */
export class ScpiSupply implements Supply {
  readonly kind = "supply";
  readonly driver: SupplyDriver;
  readonly driverWhy: readonly string[];
  readonly traits: SupplyTraits;
  readonly serial: SerialSettings;
  readonly #session: InstrumentSession;
  readonly #clock: Clock;
  readonly #speech: Speech;
  readonly #capabilities: Capabilities;
  readonly #grammar: ValueGrammar;
  readonly #context: SettingsContext;
  readonly #remote: string | undefined;
  readonly #offLane: OffLane;
  readonly #questions: ReadingQuestions;
  readonly #protections: SupplyProtections;
  readonly #watchdog: SupplyWatchdog;
  readonly #ratings = new Map<number, { maxVolts: number | null; maxAmps: number | null }>();
  /** Channels switched on and not yet seen off. */
  readonly #mayBeOn = new Set<number>();
  /** The first volts read of a channel since it was told off; gone with its next on. */
  readonly #firstVolts = new Map<number, number>();
  #energised = false;
  #proving = 0;

  constructor(options: ScpiSupplyOptions) {
    const { driver, session, capabilities } = options;
    this.driver = driver;
    this.driverWhy = options.driverWhy;
    this.serial = options.serial;
    this.#session = session;
    this.#clock = options.clock;
    this.#speech = options.speech;
    this.#capabilities = capabilities;
    this.#remote = options.remote;
    this.#offLane = new OffLane(options);
    this.#protections = new SupplyProtections(options);
    this.#watchdog = new SupplyWatchdog({ ...options, isThere: capabilities.watchdog });
    this.#questions = new ReadingQuestions({ driver, hasMode: capabilities.mode, joins: options.speech.joins });
    this.#grammar = { instrument: session.name, decimalComma: driver.wire.decimalComma, units: driver.wire.units };
    this.traits = {
      stepVolts: driver.resolution?.volts ?? capabilities.stepVolts ?? null,
      stepAmps: driver.resolution?.amps ?? capabilities.stepAmps ?? null,
      offsetAmps: options.accuracy.ampsOffset ?? null,
      riseMs: driver.riseMs ?? null,
      accuracy: Object.keys(options.accuracy).length === 0 ? null : options.accuracy,
      hasOverVoltage: capabilities.overVoltage,
      hasOverCurrent: capabilities.overCurrent,
      hasWatchdog: capabilities.watchdog,
    };
    this.#context = {
      name: session.name,
      driver,
      speech: options.speech,
      capabilities,
      grammar: this.#grammar,
      stepVolts: this.traits.stepVolts,
      stepAmps: this.traits.stepAmps,
    };
  }

  get name(): string {
    return this.#session.name;
  }
  get address(): string {
    return this.#session.address;
  }
  get identity(): Identity {
    const identity = this.#session.identity;
    if (identity === undefined) throw this.#error("wrong-identity", "it was never identified");
    return identity;
  }
  get connection(): number {
    return this.#session.connection;
  }
  get roundTrip(): RoundTripFigures {
    return this.#session.roundTrip;
  }
  get energised(): boolean {
    return this.#energised;
  }
  set energised(energised: boolean) {
    this.#energised = energised;
    this.#session.energised = energised || this.#proving > 0;
  }

  async ratings(channel: number): Promise<{ maxVolts: number | null; maxAmps: number | null }> {
    const known = this.#ratings.get(channel);
    if (known !== undefined) return known;
    const { driver } = this;
    const ratings = await askRatings({ session: this.#session, speech: this.#speech, driver, channel });
    this.#ratings.set(channel, ratings);
    return ratings;
  }

  settings(channel: number): Promise<ChannelSettings> {
    return askAgain(this.#session, (turn) => readSettings(turn, channel, this.#context));
  }

  async configure(channel: number, wanted: WantedSettings): Promise<ChannelSettings> {
    mustHaveProtections(wanted, { channel, context: this.#context });
    const before = await this.settings(channel);
    return await this.#set(channel, settingOrder(before, wanted), wanted, withoutStandingDelay(wanted, before));
  }

  async setOverCurrent(channel: number, wanted: { on: boolean; levelAmps: number }): Promise<ChannelSettings> {
    const asked = { overCurrentOn: wanted.on, limitAmps: wanted.levelAmps };
    mustHaveProtections(asked, { channel, context: this.#context });
    return await this.#set(channel, ["overCurrent"], asked);
  }

  async #set(
    channel: number,
    order: readonly SettingName[],
    wanted: Partial<WantedSettings>,
    sent = wanted,
  ): Promise<ChannelSettings> {
    for (const setting of order) {
      // A setting is never sent again blindly: where its error queue could not be read, the read-back judges it.
      await this.#session
        .exclusive((turn) => sendSetting(turn, setting, { channel, wanted: sent, context: this.#context }))
        .catch((cause: unknown) => {
          if (!(cause instanceof BenchError) || cause.code !== "no-reply") throw cause;
        });
    }
    const got = await this.settings(channel);
    mustAgree(wanted, got, { channel, context: this.#context });
    return got;
  }

  async read(channel: number): Promise<SupplyReading> {
    const asked = this.#questions.next(channel);
    try {
      const answers = await this.#session.exclusive((turn) => this.#speech.ask(turn, asked.questions, channel));
      return {
        queriedAtMs: answers.queriedAtMs,
        atMs: answers.atMs,
        together: this.#capabilities.together,
        ...this.#questions.understood(asked, answers.texts, this.#grammar),
      };
    } catch (cause) {
      if (cause instanceof BenchError && cause.code === "bad-reply") this.#session.doubt(cause.message);
      throw cause;
    }
  }

  async outputState(channel: number): Promise<"on" | "off"> {
    const answers = await askAgain(this.#session, (turn) =>
      this.#speech.ask(turn, [this.driver.operations.askOutput], channel),
    );
    const text = answers.texts[0] ?? "";
    const state = outputFrom(text);
    if (state === "unknown") {
      throw this.#error(
        "output-unknown",
        `the reply about its output was ${JSON.stringify(text)}; expected 0 or 1; the output is unknown`,
      );
    }
    if (state === "off") this.#mayBeOn.delete(channel);
    return state;
  }

  async switchOn(channel: number, guard: SwitchOnGuard): Promise<void> {
    const { epoch } = this.#session;
    const asked = epoch.token;
    const stands = (): void => {
      if (epoch.hasRisenSince(asked))
        throw this.#error("suspect-link", "a cut came before the switch-on, which was therefore not sent");
      if (this.connection !== guard.connection) {
        throw this.#error(
          "link-closed",
          `the switch-on was meant for connection ${guard.connection}, now it is ${this.connection}; it was not sent`,
        );
      }
      const lateMs = this.#clock.nowMs() - guard.deadlineMs;
      if (lateMs > 0)
        throw this.#error(
          "write-late",
          `the switch-on came ${Math.round(lateMs)} ms after its deadline; it was not sent`,
        );
    };
    stands();
    this.#speech.mustHave(channel);
    await this.#offLane.over();
    await this.#session.exclusive(
      async (turn) => {
        await this.#speech.mustBeSelected(turn, channel);
        const lines = this.#speech.linesFor(fill(this.driver.operations.outputOn, { channel }), channel);
        for (const line of lines) {
          await turn.sendIf(line, () => {
            stands();
            this.#mayBeOn.add(channel);
            this.#firstVolts.delete(channel);
          });
        }
      },
      { refuseSuspect: true },
    );
  }

  async switchOff(channel: number): Promise<void> {
    try {
      const errors = await this.#session.exclusive(async (turn) => {
        await this.#speech.tell(turn, this.driver.operations.outputOff, channel);
        return await drainErrors(turn, { name: this.name, askError: this.driver.askError });
      });
      if (errors.length > 0)
        throw this.#error(
          "output-unknown",
          `the reply to off was the error ${errorsInWords(errors)}; the output is unknown`,
        );
    } catch (cause) {
      this.cut([channel]);
      throw cause;
    }
  }

  cut(channels: readonly number[]): void {
    this.#offLane.cut(channels);
  }

  async proveOff(
    channels: readonly number[],
    options: { withinMs: number },
  ): Promise<{ output: "off" | "unknown"; detail: string }> {
    this.#proving += 1;
    this.energised = this.#energised;
    try {
      const result = await proveOff({
        session: this.#session,
        clock: this.#clock,
        speech: this.#speech,
        driver: this.driver,
        grammar: this.#grammar,
        channels,
        withinMs: options.withinMs,
        zeroAmps: this.#zeroAmps,
        stepVolts: this.traits.stepVolts,
        firstVolts: this.#firstVolts,
      });
      if (result.output === "off") for (const channel of channels) this.#mayBeOn.delete(channel);
      return result;
    } finally {
      this.#proving -= 1;
      this.energised = this.#energised;
    }
  }

  offBytes(channels: readonly number[]): OffBytes {
    return this.#offLane.bytes(channels, {
      identity: this.identity.raw,
      zeroAmps: this.#zeroAmps,
      stepVolts: this.traits.stepVolts,
    });
  }

  /** Three steps and the offset; where neither is known, 10 mA steps and 20 mA (common practice, no source). */
  get #zeroAmps(): number {
    return 3 * (this.traits.stepAmps ?? 0.01) + (this.traits.offsetAmps ?? 0.02);
  }

  clearProtection(channel: number): Promise<void> {
    return this.#protections.clear(channel, this);
  }

  trippedBy(channel: number): Promise<"over-voltage" | "over-current" | null> {
    return this.#protections.trippedBy(channel);
  }

  armWatchdog(seconds: number): Promise<boolean> {
    return this.#watchdog.arm(seconds);
  }

  disarmWatchdog(): Promise<void> {
    return this.#watchdog.disarm();
  }

  async hasRestarted(): Promise<boolean> {
    if (!this.#capabilities.eventStatus) return false;
    const { text } = await askAgain(this.#session, (turn) => turn.query("*ESR?"));
    return parseEventStatus(text)?.powerOn === true;
  }

  onLost(listener: (why: BenchError) => void): () => void {
    return this.#session.onLost(listener);
  }

  async close(): Promise<void> {
    if (this.#mayBeOn.size > 0) {
      const channels = [...this.#mayBeOn];
      this.cut(channels);
      await this.proveOff(channels, { withinMs: 500 });
    }
    const { local } = this.driver.wire;
    if (this.#remote !== undefined && local !== undefined && this.#session.suspectBecause === undefined) {
      await this.#session.send(local).catch(() => {});
    }
    await this.#session.close();
  }

  #error(code: BenchErrorCode, what: string): BenchError {
    return supplyError(this.name, code, what);
  }
}
