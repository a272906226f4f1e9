import type { DrawTrace } from "../../shared/draw-input.ts";
import { sayAmps, sayOhms, sayVolts } from "../../shared/words/amounts.ts";
import { counted } from "../../shared/words/counted.ts";
import { at } from "../analysis/at.ts";
import { medianOf } from "../analysis/quantile.ts";
import { ampsUncertainty, voltsUncertainty } from "../analysis/reading-uncertainty.ts";
import { shortResistanceOf } from "../analysis/short-resistance.ts";

/** A pair with more is no pair to power a board by: a volt is lost at 4 A (common practice, no source). */
const MOST_OHMS = 0.25;
const LEAST_READINGS = 3;
/** Under this share of its limit the current was not held by it: the ends are not together. */
const HELD = 0.9;

export type LeadOhmsJudgement =
  | { kind: "good"; ohms: number; expandedOhms: number; volts: number; amps: number }
  | { kind: "refused"; because: string };

/**
 * Resistance of a feed's lead pair from readings with its ends joined, ohms, with the expanded uncertainty (k = 2) of the supply's own
 * read-back; or why they give none: too few readings at the limit, or more than 0.25 Ω. Readings are those of the last half of the time on.
 */
export function judgeLeadOhms(trace: DrawTrace, limitAmps: number): LeadOhmsJudgement {
  const held: number[] = [];
  let most = 0;
  for (let row = 0; row < trace.atMs.length; row++) {
    if (!(at(trace.setVolts ?? trace.volts, row) > 0)) continue;
    most = Math.max(most, at(trace.amps, row));
    if (at(trace.amps, row) >= HELD * limitAmps) held.push(row);
  }
  const late = held.slice(Math.floor(held.length / 2));
  if (late.length < LEAST_READINGS)
    return {
      kind: "refused",
      because: `in ${counted(held.length, "reading")} at most ${sayAmps(most)} of ${sayAmps(limitAmps)} flowed: the ends are not joined, or a lead is open`,
    };
  const volts = medianOf(late.map((row) => at(trace.volts, row)));
  const amps = medianOf(late.map((row) => at(trace.amps, row)));
  const { ohms, expandedOhms } = shortResistanceOf({
    volts,
    amps,
    leadOhms: null,
    voltsU: voltsUncertainty(volts, trace.accuracy, trace.stepVolts ?? 0.01),
    ampsU: ampsUncertainty(amps, trace.accuracy, trace.stepAmps ?? 0.01),
  });
  if (ohms > MOST_OHMS)
    return {
      kind: "refused",
      because: `${sayVolts(volts)} at ${sayAmps(amps)} means ${sayOhms(ohms)}: too much for a pair of leads; check the clips, or use thicker leads`,
    };
  return { kind: "good", ohms, expandedOhms, volts, amps };
}
