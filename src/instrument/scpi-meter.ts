import { BenchError } from "../../shared/bench-error.ts";
import type { Accuracy, SerialSettings } from "../../shared/files/bench-file.ts";
import type { MeterDriver } from "../../shared/files/driver-file.ts";
import type { ErrorEntry } from "../scpi/error-entry.ts";
import { parseEventStatus } from "../scpi/event-status.ts";
import type { Identity } from "../scpi/identity.ts";
import { formatNumber, parseNumber } from "../scpi/number.ts";
import { askAgain } from "./ask-again.ts";
import { drainErrors, errorsInWords } from "./error-queue.ts";
import type { Answer } from "./exchange.ts";
import type { Meter, MeterFunctionName, MeterOhms, MeterSetting, MeterValue, MeterVolts } from "./meter.ts";
import { meterAccuracy } from "./meter-accuracy.ts";
import type { RoundTripFigures } from "./round-trips.ts";
import type { InstrumentSession } from "./session.ts";
import type { Turn } from "./turn.ts";
import { voltsFrom } from "./values.ts";

/** A status is answered at once; a meter without the register does not answer at all. */
const STATUS_MS = 500;

export interface ScpiMeterOptions {
  session: InstrumentSession;
  driver: MeterDriver;
  driverWhy: string[];
  /** The bench file's accuracy, which comes before the driver's. */
  accuracy: Accuracy | undefined;
  serial: SerialSettings;
  /** True where the remote command was said, so that the front panel is handed back at the end. */
  isRemote: boolean;
}

/** A meter that speaks SCPI, by a driver's words. */
export class ScpiMeter implements Meter {
  readonly kind = "meter";
  readonly driver: MeterDriver;
  readonly driverWhy: readonly string[];
  readonly serial: SerialSettings;
  readonly #session: InstrumentSession;
  readonly #accuracy: Accuracy | undefined;
  readonly #isRemote: boolean;
  #setting: MeterSetting | undefined;
  /** The meter may have been another connection's, or was switched off and on: its function is set again after a doubt. */
  #settingStanding = "";
  /** Whether it has an event status register; undefined until it was asked. */
  #saysRestarts: boolean | undefined;
  /** Words for a wish that this meter answered with a command error. */
  readonly #unknownWords = new Set<string>();

  constructor(options: ScpiMeterOptions) {
    this.driver = options.driver;
    this.driverWhy = options.driverWhy;
    this.serial = options.serial;
    this.#session = options.session;
    this.#accuracy = options.accuracy;
    this.#isRemote = options.isRemote;
  }

  get name(): string {
    return this.#session.name;
  }
  get address(): string {
    return this.#session.address;
  }
  get identity(): Identity {
    const identity = this.#session.identity;
    if (identity === undefined)
      throw new BenchError("wrong-identity", `Cannot use meter "${this.name}": it was never identified`);
    return identity;
  }
  get connection(): number {
    return this.#session.connection;
  }
  get roundTrip(): RoundTripFigures {
    return this.#session.roundTrip;
  }

  async configure(setting: MeterSetting): Promise<void> {
    await askAgain(this.#session, (turn) => this.#say(turn, setting));
  }

  async volts(): Promise<MeterVolts> {
    return this.#asVolts(await this.#measure("volts"));
  }

  async diode(): Promise<MeterVolts> {
    return this.#asVolts(await this.#measure("diode"));
  }

  async ohms(options: { fourWire?: boolean } = {}): Promise<MeterOhms> {
    return this.#asOhms(await this.#measure(options.fourWire === true ? "fourWireOhms" : "ohms"));
  }

  async read(wanted: { function: MeterFunctionName; channel: number | null }): Promise<MeterValue> {
    const { function: name, channel } = wanted;
    const answer = channel === null ? await this.#measure(name) : await this.#scan(name, channel);
    if (name === "volts" || name === "diode") {
      const volts = this.#asVolts(answer);
      return volts.kind === "value" ? { ...times(volts), kind: "value", value: volts.volts } : volts;
    }
    const ohms = this.#asOhms(answer);
    return ohms.kind === "value" ? { ...times(ohms), kind: "value", value: ohms.ohms } : ohms;
  }

  #asOhms(answer: Answer): MeterOhms {
    const unit = this.driver.wire.units.ohms;
    const number = parseNumber(answer.text, {
      decimalComma: this.driver.wire.decimalComma,
      ...(unit === undefined ? {} : { unit }),
    });
    const at = { queriedAtMs: answer.sentAtMs, atMs: answer.atMs };
    if (number.kind === "value") return { kind: "value", ohms: number.value, ...at };
    if (number.kind === "overload") return { kind: "overload", ...at };
    if (number.kind === "not-a-number") return { kind: "no-reading", ...at };
    this.#session.doubt(`${JSON.stringify(answer.text)} came, ${number.why}`);
    throw new BenchError(
      "bad-reply",
      `Cannot read ohms from "${this.name}": the reply was ${JSON.stringify(answer.text)}, ${number.why}`,
      {
        instrument: this.name,
      },
    );
  }

  async hasRestarted(): Promise<boolean> {
    if (this.#saysRestarts === false) return false;
    try {
      const { text } = await this.#session.query("*ESR?", { timeoutMs: STATUS_MS });
      const status = parseEventStatus(text);
      this.#saysRestarts ??= status !== undefined;
      if (status?.powerOn !== true) return false;
    } catch (cause) {
      // Once it has answered, silence is silence; before, it may be a meter without this register.
      if (this.#saysRestarts === true) throw cause;
      this.#saysRestarts = false;
      return false;
    }
    this.#settingStanding = "";
    return true;
  }

  async answers(): Promise<void> {
    await this.#session.query("*IDN?");
  }

  accuracyOf(reading: { function: MeterFunctionName; value: number }): number | null {
    const rangeUpTo = this.#setting?.function === reading.function ? this.#setting.rangeUpTo : undefined;
    return meterAccuracy({ ...reading, rangeUpTo }, { entry: this.#accuracy, driver: this.driver });
  }

  async close(): Promise<void> {
    const { local } = this.driver.wire;
    if (this.#isRemote && local !== undefined && this.#session.suspectBecause === undefined) {
      await this.#session.send(local).catch(() => {});
    }
    await this.#session.close();
  }

  #measure(wanted: MeterFunctionName): Promise<Answer> {
    return askAgain(this.#session, async (turn) => {
      if (this.#setting?.function !== wanted || this.#settingStanding !== this.#standing) {
        await this.#say(turn, this.#setting?.function === wanted ? this.#setting : { function: wanted });
      }
      return await turn.query(this.driver.read);
    });
  }

  /** Changes with each new connection and each time the link was doubted. */
  get #standing(): string {
    return `${this.connection} ${this.#session.counters.fences}`;
  }

  #scan(wanted: MeterFunctionName, channel: number): Promise<Answer> {
    const words = this.driver.functions[wanted]?.readChannel;
    if (words === undefined) {
      const why = `driver "${this.driver.name}" has no command to read a scanner's channel`;
      return Promise.reject(this.#refused({ function: wanted }, why));
    }
    return askAgain(this.#session, async (turn) => {
      // It measures in a function and range of its own: what was set before no longer stands.
      this.#setting = undefined;
      return await turn.query(words.replaceAll("{channel}", String(channel)));
    });
  }

  async #say(turn: Turn, setting: MeterSetting): Promise<void> {
    const words = this.driver.functions[setting.function];
    if (words === undefined) throw this.#refused(setting, `driver "${this.driver.name}" has no command for it`);
    this.#setting = undefined;
    const isRanged = await this.#wish(turn, words.configureRange, setting.rangeUpTo);
    if (!isRanged) {
      const refusal = await this.#tell(turn, words.configure);
      if (refusal.length > 0)
        throw this.#refused(setting, `the reply to "${words.configure}" was the error ${errorsInWords(refusal)}`);
    }
    const isTimed = await this.#wish(turn, words.integration, setting.powerLineCycles);
    const { function: name, rangeUpTo, powerLineCycles } = setting;
    this.#setting = {
      function: name,
      ...(isRanged && rangeUpTo !== undefined ? { rangeUpTo } : {}),
      ...(isTimed && powerLineCycles !== undefined ? { powerLineCycles } : {}),
    };
    this.#settingStanding = this.#standing;
  }

  /** Range and integration time are wishes: a meter that does not know the words reads as it does without them. */
  async #wish(turn: Turn, words: string | undefined, value: number | undefined): Promise<boolean> {
    if (words === undefined || value === undefined || this.#unknownWords.has(words)) return false;
    const errors = await this.#tell(turn, words.replaceAll("{value}", formatNumber(value)));
    if (errors.some(({ kind }) => kind === "command")) this.#unknownWords.add(words);
    return errors.length === 0;
  }

  async #tell(turn: Turn, message: string): Promise<ErrorEntry[]> {
    await turn.send(message);
    return await drainErrors(turn, { name: this.name, askError: this.driver.askError });
  }

  #refused(setting: MeterSetting, why: string): BenchError {
    return new BenchError("setting-refused", `Cannot set meter "${this.name}" to ${setting.function}: ${why}`, {
      instrument: this.name,
    });
  }

  #asVolts(answer: Answer): MeterVolts {
    const { decimalComma, units } = this.driver.wire;
    try {
      const volts = voltsFrom(answer.text, { instrument: this.name, decimalComma, units });
      return { ...volts, queriedAtMs: answer.sentAtMs, atMs: answer.atMs };
    } catch (cause) {
      this.#session.doubt(String(cause));
      throw cause;
    }
  }
}

const times = ({ queriedAtMs, atMs }: { queriedAtMs: number; atMs: number }) => ({ queriedAtMs, atMs });
