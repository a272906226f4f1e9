import type { BoardRail } from "../../../shared/files/board-file.ts";
import { normalShareBelow } from "../../analysis/normal-share.ts";
import type { ColdLimits } from "./cold-limits.ts";

/** Contact of needle probes comes and goes by about this much, ohms (common practice, no source). */
const CONTACT_OHMS = 0.03;
/** Readings of one rail scatter with meter and range by about this share (common practice, no source). */
const OHMS_SHARE = 0.1;
/** With four wires contact has no part in it, and the same meter repeats within this share (common practice, no source). */
const FOUR_WIRE_SHARE = 0.03;
/** A meter shows overload as a figure of this size or as words. */
const OPEN_OHMS = 1e9;

/** Shares of short, low, normal and high that a cold reading stands for; near a limit both sides get some. */
export function coldState(ohms: number | "open" | "OL", limits: ColdLimits, isFourWire = false): number[] {
  if (typeof ohms === "string" || ohms >= OPEN_OHMS) return Number.isFinite(limits.high) ? [0, 0, 0, 1] : [0, 0, 1, 0];
  const contact = isFourWire ? limits.low / 1000 : Math.min(CONTACT_OHMS, limits.low / 4);
  const spread = Math.hypot(ohms * (isFourWire ? FOUR_WIRE_SHARE : OHMS_SHARE), contact);
  const below = (limit: number): number => (Number.isFinite(limit) ? normalShareBelow((limit - ohms) / spread) : 1);
  const [short, low, normal] = [below(limits.shortBelow), below(limits.low), below(limits.high)];
  return [short, Math.max(0, low - short), Math.max(0, normal - low), Math.max(0, 1 - normal)];
}

/** Meter and probe together, as a share of the reading and in volts, standard uncertainty (common practice, no source). */
const VOLTS_SHARE = 0.003;
const VOLTS_OFFSET = 0.005;
/** The tolerance where the board file gives none: ±8 %, signals ±30 %. */
const DEFAULT_TOLERANCE = 0.08;
const SIGNAL_TOLERANCE = 0.3;

/** Limits of a rail's powered states, volts: absent below a tenth of nominal, then under, normal and over. */
export function voltsLimits(rail: Pick<BoardRail, "volts" | "tolerance" | "signal">): {
  absent: number;
  low: number;
  high: number;
} {
  const share = rail.signal === true ? SIGNAL_TOLERANCE : DEFAULT_TOLERANCE;
  const [low, high] = rail.tolerance ?? [-share, share];
  // A signal that rests at zero has no lower states: anything above a logic low is over.
  if (rail.volts === 0) return { absent: Number.NEGATIVE_INFINITY, low: Number.NEGATIVE_INFINITY, high: 0.4 };
  return { absent: 0.1 * rail.volts, low: rail.volts * (1 + low), high: rail.volts * (1 + high) };
}

/** Shares of absent, under, normal and over that a steady reading stands for. */
export function voltsState(volts: number, rail: Pick<BoardRail, "volts" | "tolerance" | "signal">): number[] {
  const limits = voltsLimits(rail);
  const spread = Math.abs(volts) * VOLTS_SHARE + VOLTS_OFFSET;
  const below = (limit: number): number => (Number.isFinite(limit) ? normalShareBelow((limit - volts) / spread) : 0);
  const [absent, low, high] = [below(limits.absent), below(limits.low), below(limits.high)];
  return [absent, Math.max(0, low - absent), Math.max(0, high - low), Math.max(0, 1 - high)];
}
