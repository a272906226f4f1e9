import type { DrawTrace } from "../../shared/draw-input.ts";

/** Clips and crimps of a measured lead repeat within this, ohms, half-width (common practice, no source). */
const LEAD_REPEATS_OHMS = 0.01;

/**
 * Resistance of the board behind the leads, ohms, never below zero, and its expanded uncertainty (k = 2) from the
 * standard uncertainties of both readings and the leads. `leadExpandedOhms` is that of the leads where they were measured, k = 2; they
 * also repeat only so far, since clips are put on anew. `leadOhms` null leaves the leads in: the figure is then an upper bound.
 */
export function shortResistanceOf(reading: {
  volts: number;
  amps: number;
  leadOhms: number | null;
  leadExpandedOhms?: number | null | undefined;
  voltsU: number;
  ampsU: number;
}): { ohms: number; expandedOhms: number } {
  const seen = reading.volts / reading.amps;
  const share = Math.hypot(reading.voltsU / reading.volts, reading.ampsU / reading.amps);
  const expandedOhms =
    2 * (reading.volts > 0 ? Math.abs(seen) * share : reading.voltsU / Math.max(Math.abs(reading.amps), 1e-9));
  const repeats = (2 * LEAD_REPEATS_OHMS) / Math.sqrt(3);
  const leadsU = (reading.leadOhms ?? 0) > 0 ? Math.hypot(repeats, reading.leadExpandedOhms ?? 0) : 0;
  return { ohms: Math.max(0, seen - (reading.leadOhms ?? 0)), expandedOhms: Math.hypot(expandedOhms, leadsU) };
}

/** The leads of a trace, as `shortResistanceOf` takes it. */
export const leadsOf = ({
  leadOhms,
  leadExpandedOhms,
}: Pick<DrawTrace, "leadOhms" | "leadExpandedOhms">): Pick<DrawTrace, "leadOhms" | "leadExpandedOhms"> => ({
  leadOhms,
  leadExpandedOhms,
});
