import type { Accuracy } from "../../shared/files/bench-file.ts";

/** The accuracy of an instrument that states none: 0.5 % of the reading and one step, at least 1 mA or 5 mV (common practice, no source). */
export const DEFAULT_SHARE = 0.005;
const LEAST_AMPS = 0.001;
const LEAST_VOLTS = 0.005;

/**
 * Standard uncertainty of one amps reading from accuracy and step: both are half-widths of rectangles, so each goes in
 * with 1/√3 (JCGM 100:2008, 4.3.7); half a step for the rounding.
 */
export function ampsUncertainty(amps: number, accuracy: Accuracy | null, stepAmps: number): number {
  const share = accuracy?.ampsShare ?? DEFAULT_SHARE;
  const offset = accuracy?.ampsOffset ?? Math.max(stepAmps, LEAST_AMPS);
  return Math.hypot(Math.abs(amps) * share + offset, stepAmps / 2) / Math.sqrt(3);
}

/** The same for volts. */
export function voltsUncertainty(volts: number, accuracy: Accuracy | null, stepVolts: number): number {
  const share = accuracy?.voltsShare ?? DEFAULT_SHARE;
  const offset = accuracy?.voltsOffset ?? Math.max(stepVolts, LEAST_VOLTS);
  return Math.hypot(Math.abs(volts) * share + offset, stepVolts / 2) / Math.sqrt(3);
}
