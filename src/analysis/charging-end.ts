import { straightLine } from "./straight-line.ts";

/** The most input capacitance to reckon with where the board file does not say, farads (common practice, no source). */
export const MOST_FARADS = 0.005;

/** A reading of ohms and its time, milliseconds. */
interface TimedOhms {
  atMs: number;
  value: number;
}

/** Fewer readings in a third of the climb give no slope worth its error. */
const LEAST_PER_PART = 4;
/** A smaller fall of the slope, as a share, may be the capacitor's own: dielectric absorption of an electrolytic (common practice, no source). */
const LEAST_FALL = 0.1;
/** A difference of slopes smaller than so many of its standard errors is none. */
const SEEN = 3;

/**
 * The value that a charging capacitor across a resistor comes to at a constant current, with its expanded uncertainty (k = 2): v approaches
 * R as its slope falls, v = R − τ·slope, so two stretches of the climb give R (arithmetic). Null where too little was read, or the slope
 * does not fall yet: no end is in sight then.
 */
export function chargingEnd(samples: readonly TimedOhms[]): { ohms: number; expandedOhms: number } | null {
  const part = Math.floor(samples.length / 3);
  if (part < LEAST_PER_PART) return null;
  const early = straightLine(samples.slice(0, part));
  const late = straightLine(samples.slice(-part));
  const error = Math.hypot(early.slopeError, late.slopeError);
  const falls = early.slope - late.slope;
  if (!(late.slope > 0) || !(falls > Math.max(SEEN * error, LEAST_FALL * early.slope))) return null;
  const endAt = (drop: number, slope: number): number => late.mean + (slope * (late.mean - early.mean)) / drop;
  const ohms = endAt(falls, late.slope);
  // Twice the standard error of both slopes, to the side that puts the end further away.
  const far = endAt(Math.max(falls - 2 * error, falls / 3), late.slope + 2 * late.slopeError);
  return { ohms, expandedOhms: Math.max(far - ohms, 0.01 * ohms) };
}
