import type { MeterReading, MeterReadSetting } from "../../shared/meter-reading.ts";
import type { Meter, MeterValue } from "../instrument/meter.ts";

/** Volts that may be left on a point before ohms or diode mode tell anything (common practice, no source). */
const LEAST_VOLTS = 0.02;
/** The same on a point under 10 Ω, where 20 mV of it would be read as 20 Ω more or less. */
const LEAST_VOLTS_LOW_OHMS = 0.005;
const LOW_OHMS = 10;
/** About the least current that meters measure ohms with (common practice, no source): what 1 V on the point adds, ohms. */
const OHMS_A_VOLT = 1000;
/** Two looks that lie closer are a point that has settled, volts. */
const SETTLED_VOLTS = 0.002;
const MOST_LOOKS = 5;
/** The time for which a look at a point that reads open is good; an open must last longer than this to be an answer. */
const LOOK_AGAIN_MS = 100;

/** A look is quick: in a range of the meter's own choice, one cycle of the mains. */
const LOOK = { function: "volts", powerLineCycles: 1 } as const;

/** The finding of a look; null volts are more than any range holds, or no number: not discharged. */
interface Node {
  volts: number | null;
  atMs: number;
}

export interface ColdCheckOptions {
  meter: Meter;
  setting: MeterReadSetting;
  /** Asked in the turn before each question; throws where ohms and diode mode may not be asked now. */
  mayAsk: () => void;
}

/**
 * Reads ohms or diode volts only of points that were found discharged: at each new contact the volts of the same point
 * are read first. A point that reads open is looked at again and again, because a charged one may read open too.
 */
export class MeterColdCheck {
  readonly #options: ColdCheckOptions;
  #node: Node | undefined;
  #touches = false;
  /** Which of the two settings the meter has: the one asked for, or that of a look at the volts. */
  #has: "asked" | "look" | undefined;

  constructor(options: ColdCheckOptions) {
    this.#options = options;
  }

  /** The next reading worth telling. Throws what the meter throws. */
  async next(): Promise<MeterReading> {
    for (;;) {
      const node = this.#node ?? (await this.#look());
      this.#node = node;
      const charged = (least: number): boolean => node.volts === null || Math.abs(node.volts) > least;
      if (charged(LEAST_VOLTS)) return this.#charged(node);
      const { setting } = this.#options;
      const got = await this.#ask("asked");
      if (got.kind !== "value") {
        if (this.#touches || got.atMs - node.atMs > LOOK_AGAIN_MS) this.#node = undefined;
        // The look may have been at the lifted probe: only a look that lasts says open.
        if (this.#touches) {
          this.#touches = false;
          continue;
        }
        return this.#told(got, node);
      }
      const isNewContact = !this.#touches && setting.channel === null;
      this.#touches = true;
      if (isNewContact) {
        this.#node = undefined;
        continue;
      }
      if (charged(LEAST_VOLTS_LOW_OHMS) && this.#mayBeLow(got.value, node.volts)) return this.#charged(node);
      return this.#told(got, node);
    }
  }

  /** True where the point may be under 10 Ω: what its volts may have added to the reading is taken off. */
  #mayBeLow(value: number, volts: number | null): boolean {
    return this.#options.setting.function !== "diode" && value - OHMS_A_VOLT * Math.abs(volts ?? 0) < LOW_OHMS;
  }

  #charged(node: Node): MeterReading {
    this.#node = undefined;
    this.#touches = false;
    return this.#told({ kind: "no-reading", queriedAtMs: node.atMs, atMs: node.atMs }, node, "charged");
  }

  async #look(): Promise<Node> {
    let before: number | undefined;
    for (let look = 1; ; look++) {
      const got = await this.#ask("look");
      if (got.kind !== "value") return { volts: null, atMs: got.atMs };
      const volts = got.value;
      const hasSettled = before !== undefined && Math.abs(volts - before) < SETTLED_VOLTS;
      if (hasSettled || look === MOST_LOOKS || Math.abs(volts) > 1) return { volts, atMs: got.atMs };
      before = volts;
    }
  }

  async #ask(what: "asked" | "look"): Promise<MeterValue> {
    const { meter, setting, mayAsk } = this.#options;
    const { channel } = setting;
    const name = what === "look" ? "volts" : setting.function;
    mayAsk();
    if (channel === null && this.#has !== what) {
      this.#has = undefined;
      await meter.configure(what === "look" ? LOOK : settingOf(setting));
      this.#has = what;
      mayAsk();
    }
    return await meter.read({ function: name, channel });
  }

  #told(got: MeterValue, node: Node, kind: MeterReading["kind"] = got.kind): MeterReading {
    const { meter, setting } = this.#options;
    return { ...readingOf(got, setting, meter), kind, nodeVolts: node.volts };
  }
}

/** The meter's own setting in what was asked for. */
export function settingOf(setting: MeterReadSetting): Parameters<Meter["configure"]>[0] {
  return {
    function: setting.function,
    ...(setting.rangeUpTo === null ? {} : { rangeUpTo: setting.rangeUpTo }),
    ...(setting.powerLineCycles === null ? {} : { powerLineCycles: setting.powerLineCycles }),
  };
}

/** A reading as it is told: the lead null off two-wire ohms, and how far it may be off. */
export function readingOf(got: MeterValue, setting: MeterReadSetting, meter: Meter): MeterReading {
  const { queriedAtMs, atMs, kind } = got;
  const raw = got.kind === "value" ? got.value : null;
  const leadNullOhms = raw !== null && setting.function === "ohms" ? setting.leadNullOhms : null;
  return {
    queriedAtMs,
    atMs,
    function: setting.function,
    channel: setting.channel,
    kind,
    value: raw === null ? null : raw - (leadNullOhms ?? 0),
    halfWidth: raw === null ? null : meter.accuracyOf({ function: setting.function, value: raw }),
    leadNullOhms,
    nodeVolts: null,
  };
}
