/** A kind of feed the shipped defaults know. */
export type FeedKind = "aux12" | "slot12" | "five" | "three";

export interface FeedDefaults {
  words: string;
  nominalVolts: number;
  tolerance: [number, number];
  /** Limit of the first rise, and of each raise after it. */
  firstAmps: number;
  ladderAmps: readonly number[];
  maxVolts: number;
  /** Limit of the first look, below 1 V, and of the hold below lock-out. */
  touch: { volts: number; limitAmps: number };
  holdLowAmps: number;
}

/**
 * Limits for a feed without a description. Common practice of the trade, no source; tolerances from the ATX 3.0 design guide,
 * table 3-5 (12 V at the card) and the card's slot (3.3 V, from memory). Weak on purpose: a board file replaces them.
 */
export const DEFAULT_LIMITS: Readonly<Record<FeedKind, FeedDefaults>> = {
  aux12: {
    words: "12 V auxiliary",
    nominalVolts: 12,
    tolerance: [-0.08, 0.05],
    firstAmps: 2,
    ladderAmps: [3, 5],
    maxVolts: 13.2,
    touch: { volts: 0.9, limitAmps: 0.3 },
    holdLowAmps: 0.3,
  },
  slot12: {
    words: "12 V slot",
    nominalVolts: 12,
    tolerance: [-0.08, 0.05],
    firstAmps: 1,
    ladderAmps: [],
    maxVolts: 13.2,
    touch: { volts: 0.9, limitAmps: 0.2 },
    holdLowAmps: 0.2,
  },
  five: {
    words: "5 V",
    nominalVolts: 5,
    tolerance: [-0.05, 0.05],
    firstAmps: 0.5,
    ladderAmps: [],
    maxVolts: 5.5,
    touch: { volts: 0.8, limitAmps: 0.1 },
    holdLowAmps: 0.1,
  },
  three: {
    words: "3.3 V",
    nominalVolts: 3.3,
    tolerance: [-0.09, 0.09],
    firstAmps: 0.5,
    ladderAmps: [],
    maxVolts: 3.7,
    touch: { volts: 0.8, limitAmps: 0.1 },
    holdLowAmps: 0.1,
  },
};

/** Input capacitance taken where the board file says nothing, farads: the most that is typical (common practice, no source). */
export const DEFAULT_INPUT_FARADS = 0.005;

/** Longest on-time by what cools the chip, seconds (common practice, no source). A bare chip's ends by its heat first, from 5.3 W up. */
export const DEFAULT_ON_SECONDS = { bare: 60, block: 120, cooler: 1800 } as const;

/** A bare die and its package take 8 J a kelvin, and 40 K more than the room are enough: 23 s at 14 W, 5 s at 60 W (common practice, no source). */
export const BARE_JOULES = 8 * 40;

/** Read-back steps taken where the driver does not say; coarse, so that nothing is read out of noise. */
export const DEFAULT_STEP_VOLTS = 0.01;
export const DEFAULT_STEP_AMPS = 0.01;

/**
 * The kind of feed by its nominal volts and its name: "slot" in the name tells the slot's 12 V from an auxiliary plug.
 * Everything from 9 V up is taken as 12 V class, from 4 V as 5 V class, below that as 3.3 V class.
 */
export function kindOfFeed(name: string, nominalVolts: number): FeedKind {
  if (nominalVolts >= 9) return /slot/i.test(name) ? "slot12" : "aux12";
  return nominalVolts >= 4 ? "five" : "three";
}

/**
 * The volts of a feed by its name, where there is no board file. "12", "aux", "pcie" and "eps" say 12 V; "slot"
 * alone the slot's 12 V; null where the name says nothing: it is then taken as 12 V auxiliary and the permit asks a
 * person. A name that says other volts ("19v", "1v8") is `unknown-volts`: nothing shipped fits it.
 */
export function kindByName(name: string): FeedKind | "unknown-volts" | null {
  if (/3v3|3[._]3|33v/i.test(name)) return "three";
  if (/(^|[^0-9])5v/i.test(name)) return "five";
  if (/12/.test(name)) return /slot/i.test(name) ? "slot12" : "aux12";
  if (/\d+v\d*|v(core|mem|soc|pll)/i.test(name)) return "unknown-volts";
  if (/slot/i.test(name)) return "slot12";
  return /aux|pcie|eps/i.test(name) ? "aux12" : null;
}
