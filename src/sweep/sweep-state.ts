import type { SweepCapture } from "../../shared/sweep.ts";
import type { LiftedLevel } from "./lifted-level.ts";
import type { Sample } from "./sample.ts";

/** The position of the probe, as far as the readings tell. */
export type Phase =
  | { phase: "idle" }
  /** The probe is to be seen in the air before a contact counts. `air`: readings in a row that look like that. */
  | { phase: "lift"; sinceMs: number; air: readonly Sample[]; airs: number; isNamed: boolean; isHinted: boolean }
  /** It is in the air, or touching and not yet steady; `touch` is the contact so far. */
  | { phase: "place"; touch: Touch }
  /** Questioned, and the probe is still on: another look at `untilMs`, or at the next contact. */
  | { phase: "again"; untilMs: number; touch: Touch; air: readonly Sample[] }
  /** The person says they are on it: what is read from `fromMs` on is it. */
  | { phase: "take"; fromMs: number; touch: Touch }
  /** A scanner's channel: nobody's hand in it. */
  | { phase: "scan"; fromMs: number; touch: Touch }
  | { phase: "paused" }
  | { phase: "over" };

/** Readings since the last jump, and since when there is contact at all. */
export interface Touch {
  fromMs: number | null;
  window: readonly Sample[];
  /** The same without regard to jumps: what a person takes is taken from this where it never rests. */
  recent: readonly Sample[];
  /** Ohms since the last jump, for as long as the contact lasts: the way they slow down tells where they end. */
  climb: readonly Sample[];
  /** Readings in a row above the range, or open. */
  overloads: number;
  overloadFromMs: number | null;
  isWide: boolean;
  isHinted: boolean;
}

export const NO_TOUCH: Touch = {
  fromMs: null,
  window: [],
  recent: [],
  climb: [],
  overloads: 0,
  overloadFromMs: null,
  isWide: false,
  isHinted: false,
};

export interface SweepState {
  phase: Phase;
  /** Points still to come, the one the sweep is at first. */
  queue: readonly number[];
  lifted: LiftedLevel | null;
  /** The last value taken; what a `redo` goes back to. */
  last: SweepCapture | null;
  /** The value of this point that was questioned. */
  first: { because: string; value: number | null } | null;
  /** Points that have a value or were passed over, so that another one corrects it. */
  visited: readonly number[];
  /** Readings asked for before this belong to an earlier setting. */
  settingFromMs: number;
}

export const NOT_BEGUN: Omit<SweepState, "queue"> = {
  phase: { phase: "idle" },
  lifted: null,
  last: null,
  first: null,
  visited: [],
  settingFromMs: Number.NEGATIVE_INFINITY,
};
