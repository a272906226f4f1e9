import type { BenchError } from "../../shared/bench-error.ts";
import type { Accuracy, SerialSettings } from "../../shared/files/bench-file.ts";
import type { SupplyDriver } from "../../shared/files/driver-file.ts";
import type { AmpsReading, RegulationMode, VoltsReading } from "../../shared/reading.ts";
import type { Identity } from "../scpi/identity.ts";
import type { RoundTripFigures } from "./round-trips.ts";

/** The settings of a channel, as the instrument says them. */
export interface ChannelSettings {
  setVolts: number;
  limitAmps: number;
  /** Null: no over-voltage protection is in force, because there is none or because it is switched off. */
  overVolts: number | null;
  /** Null: there is no over-current protection. `amps` null: it acts at the current limit. `delayMs` null: not known. */
  overCurrent: { on: boolean; amps: number | null; delayMs: number | null } | null;
  output: "on" | "off" | "unknown";
}

export interface WantedSettings {
  volts: number;
  limitAmps: number;
  overVolts?: number;
  overCurrentOn?: boolean;
  /** The time the limit may hold before the over-current protection acts, where that can be set. */
  overCurrentDelayMs?: number;
}

/** A supply's word on its own settings and output, in the answer of a reading; what was not asked this time is missing. */
export interface PanelState {
  output?: "on" | "off";
  setVolts?: number;
  limitAmps?: number;
}

/** Volts and amps of one channel; times by the clock handed to `connectInstrument`. */
export interface SupplyReading {
  queriedAtMs: number;
  atMs: number;
  volts: VoltsReading;
  amps: AmpsReading;
  mode: RegulationMode;
  /** True where volts and amps came in one round trip. */
  together: boolean;
  panel: PanelState;
}

/** The abilities of this supply and their resolution; found out at connect, null where it is not known. */
export interface SupplyTraits {
  stepVolts: number | null;
  stepAmps: number | null;
  offsetAmps: number | null;
  riseMs: number | null;
  /** Half-widths of its readings: the bench file's, over the driver's; null where neither says. */
  accuracy: Accuracy | null;
  hasOverVoltage: boolean;
  hasOverCurrent: boolean;
  hasWatchdog: boolean;
}

/** An energising command is good for one connection and until one moment of the clock. */
export interface SwitchOnGuard {
  connection: number;
  deadlineMs: number;
}

/** Literal bytes, terminators included: how to switch channels off and to prove it without knowing a driver. */
export interface OffBytes {
  /** The bytes to write, with their times in milliseconds from the opening of the link. */
  off: { afterMs: number; text: string }[];
  gapMs: number;
  replyMs: number;
  state: string[];
  offAnswers: string[];
  current: string[];
  zeroAmps: number;
  volts: string[];
  /** Step of its volts, volts; null: not known. */
  stepVolts: number | null;
  identityQuery: string;
  identity: string;
}

/** A supply as the bench runner sees it. Every method that waits throws BenchError where the promise was broken. */
export interface Supply {
  readonly kind: "supply";
  readonly name: string;
  readonly address: string;
  /** The serial settings it was opened with. */
  readonly serial: SerialSettings;
  readonly identity: Identity;
  readonly driver: SupplyDriver;
  /** Why this driver: a sentence a candidate. */
  readonly driverWhy: readonly string[];
  readonly traits: SupplyTraits;
  readonly connection: number;
  /** Set by the runner while an output may be on: replies then have max(150 ms, 5 × p99). */
  energised: boolean;
  readonly roundTrip: RoundTripFigures;

  /** Highest voltage and current that may be set; null where the supply does not say. */
  ratings(channel: number): Promise<{ maxVolts: number | null; maxAmps: number | null }>;
  /** Read back from the instrument. */
  settings(channel: number): Promise<ChannelSettings>;
  /**
   * Sets a channel, going up protection first, going down volts first; the error queue is read after every setting, all is
   * read back and compared. Never touches the output. Throws "setting-refused" naming what was asked and what came.
   */
  configure(channel: number, wanted: WantedSettings): Promise<ChannelSettings>;
  /**
   * Switches the over-current protection on at this level, or off, and reads it back. Sends nothing else, so that it may be
   * used while the output is on. Throws as `configure` does.
   */
  setOverCurrent(channel: number, wanted: { on: boolean; levelAmps: number }): Promise<ChannelSettings>;
  read(channel: number): Promise<SupplyReading>;
  outputState(channel: number): Promise<"on" | "off">;
  /** Refused when the connection changed ("link-closed"), past the deadline ("write-late"), or on a suspect link. */
  switchOn(channel: number, guard: SwitchOnGuard): Promise<void>;
  /** Off in its turn; where that fails, by a cut. */
  switchOff(channel: number): Promise<void>;
  /** Off now, past every queue, in this same turn, and again 50 ms later. Never throws; call `proveOff` afterwards. */
  cut(channels: readonly number[]): void;
  /** Asks until the output state is off and the current within 3 steps and the offset of zero, saying off again meanwhile. */
  proveOff(
    channels: readonly number[],
    options: { withinMs: number },
  ): Promise<{ output: "off" | "unknown"; detail: string }>;
  offBytes(channels: readonly number[]): OffBytes;
  /** Clears a tripped protection, only after off was verified; verifies that it is off still. */
  clearProtection(channel: number): Promise<void>;
  /** Which protection holds the channel off, where the supply says so; null: none, or it does not say. */
  trippedBy(channel: number): Promise<"over-voltage" | "over-current" | null>;
  /** Arms the communication watchdog; false where there is none. */
  armWatchdog(seconds: number): Promise<boolean>;
  /** Calls the communication watchdog off, where there is one. */
  disarmWatchdog(): Promise<void>;
  /**
   * True where the instrument was switched off and on since the last time this was asked; its settings are its defaults.
   * False where it cannot say.
   */
  hasRestarted(): Promise<boolean>;
  /** Hears of a link that closed unasked, and of one that could not be made to answer again, until the answer is called. */
  onLost(listener: (why: BenchError) => void): () => void;
  /** Cuts what may be on, hands the front panel back, closes the link. */
  close(): Promise<void>;
}
