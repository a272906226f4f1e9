import type { SerialSettings } from "../../shared/files/bench-file.ts";
import type { MeterDriver } from "../../shared/files/driver-file.ts";
import type { MeterFunction } from "../../shared/meter-reading.ts";
import type { Identity } from "../scpi/identity.ts";
import type { RoundTripFigures } from "./round-trips.ts";

export type MeterFunctionName = MeterFunction;

interface Timed {
  queriedAtMs: number;
  atMs: number;
}

/** A measured voltage, or why there is none; times by the clock handed to `connectInstrument`. */
export type MeterVolts = Timed & ({ kind: "value"; volts: number } | { kind: "overload" } | { kind: "no-reading" });
/** A measured resistance; an overload is an open circuit, or more than the range holds. */
export type MeterOhms = Timed & ({ kind: "value"; ohms: number } | { kind: "overload" } | { kind: "no-reading" });

/** A measured value in its function's own unit, or why there is none. */
export type MeterValue = Timed & ({ kind: "value"; value: number } | { kind: "overload" } | { kind: "no-reading" });

export interface MeterSetting {
  function: MeterFunctionName;
  /** The greatest value to come, in volts or ohms; left out, the meter ranges by itself. */
  rangeUpTo?: number;
  /** Integration time in power line cycles; left out, the meter's own. */
  powerLineCycles?: number;
}

/** A meter as sweep and bench runner see it. Every method that waits throws BenchError where the promise was broken. */
export interface Meter {
  readonly kind: "meter";
  readonly name: string;
  readonly address: string;
  readonly serial: SerialSettings;
  readonly identity: Identity;
  readonly driver: MeterDriver;
  readonly driverWhy: readonly string[];
  readonly connection: number;
  readonly roundTrip: RoundTripFigures;
  /** Chooses function, range and integration time; the readings after it keep them. Throws "setting-refused". */
  configure(setting: MeterSetting): Promise<void>;
  /** DC volts, in the range set before, or by itself. */
  volts(): Promise<MeterVolts>;
  ohms(options?: { fourWire?: boolean }): Promise<MeterOhms>;
  /** Forward volts in diode mode, at about 1 mA; an overload is an open. */
  diode(): Promise<MeterVolts>;
  /**
   * One reading in the function last configured, or of a scanner's channel, which then ranges by itself. Throws
   * "setting-refused" where the driver has no words for a scanner.
   */
  read(wanted: { function: MeterFunctionName; channel: number | null }): Promise<MeterValue>;
  /**
   * Whether it was switched off and on since this was last asked, or since it was connected: its setting is then made
   * again before it reads. False where the meter cannot say.
   */
  hasRestarted(): Promise<boolean>;
  /** Asks who it is, and nothing else of it: its setting stays. Throws where it does not answer. */
  answers(): Promise<void>;
  /** Half-width of what a reading may be off, in its own unit; null where neither the bench file nor the driver says. */
  accuracyOf(reading: { function: MeterFunctionName; value: number }): number | null;
  close(): Promise<void>;
}
