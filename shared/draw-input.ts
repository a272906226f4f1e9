import type { DrawBaseline } from "./draw-baseline.ts";
import type { Accuracy } from "./files/bench-file.ts";
import type { BoardFile } from "./files/board-file.ts";
import type { ShopSettings } from "./files/shop-settings.ts";
import type { Trip } from "./plan.ts";

/**
 * The readings of one feed over a whole first power-up, column by column; NaN where there was no number. `atMs` never
 * goes back. Columns that a foreign file does not have are null: what they would say is then found from volts and amps.
 */
export interface DrawTrace {
  feed: string;
  /** Other feeds on the same channel, whose current is in this one too. */
  ganged?: readonly string[];
  atMs: Float64Array;
  volts: Float64Array;
  amps: Float64Array;
  /** 0 unknown, 1 constant voltage, 2 constant current. */
  mode: Uint8Array | null;
  setVolts: Float64Array | null;
  limitAmps: Float64Array | null;
  /** Index into `StageName.options`; 255 none. */
  stage: Uint8Array | null;
  /** True only where volts and amps of a row came from one round trip. */
  together: boolean;
  /** Resistance of the lead pair where volts are read at the supply; null not known. */
  leadOhms: number | null;
  /** Expanded uncertainty (k = 2) of it where it was measured; left out or null where it was only stated. */
  leadExpandedOhms?: number | null | undefined;
  stepVolts: number | null;
  stepAmps: number | null;
  accuracy: Accuracy | null;
  /** The interval at which the instrument read, where the trace was thinned since: its own stamps no longer say. */
  readEveryMs?: number;
}

/** Something a person did to the board while it was on; `state` is the state of power that it brings the board to. */
export interface DrawMark {
  atMs: number;
  text: string;
  state: string | null;
}

/** Everything a draw verdict depends on; nothing else may change it. */
export interface DrawInput {
  traces: DrawTrace[];
  board: BoardFile | null;
  conditions: { host: "none" | "pulled-up" | "attached" | "unknown"; fans: "on" | "off" | "unknown" };
  /** The current limit where a trace does not say one, amps; null not known. */
  limitAmps: number | null;
  /** The shop's own numbers; left out or null where it has none. */
  shop?: ShopSettings | null;
  /** The process of this program that cut the run; left out or null where nothing did or nobody knows. */
  trip?: Pick<Trip, "rule" | "feed" | "board" | "because"> | null;
  /** The actions that a person reported meanwhile, in order of time; left out where nobody said anything. */
  marks?: readonly DrawMark[];
  /** The draw of good boards of this kind; left out or null where no record was asked. */
  baseline?: DrawBaseline | null;
}

/** The name of a feed whose file did not name one. */
export const UNNAMED_FEED = "unnamed";
