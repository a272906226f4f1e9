/** The numbers of a preamble that turn samples into volts and seconds. */
export interface WaveformScale {
  points: number;
  xIncrement: number;
  xOrigin: number;
  xReference: number;
  yIncrement: number;
  yOrigin: number;
  yReference: number;
}

/** More than a record of one run needs, and than is taken. */
export const MOST_POINTS = 1_000_000;
const LEAST_POINTS = 10;

/** Why a preamble cannot be one, in a sentence's part; null where it can. */
export function scaleProblem(scale: WaveformScale): string | null {
  const odd = Object.entries(scale).find(([, value]) => !Number.isFinite(value));
  if (odd !== undefined) return `its ${odd[0]} is not a number`;
  const { points, xIncrement, yIncrement } = scale;
  if (!Number.isInteger(points) || points < LEAST_POINTS || points > MOST_POINTS)
    return `it says ${points} points; there should be ${LEAST_POINTS} to ${MOST_POINTS}`;
  if (!(xIncrement > 0)) return `its time step is ${xIncrement} s; it should be above zero`;
  return yIncrement === 0 ? "its volts step is zero" : null;
}

/** Samples in volts: (code − reference)·increment + origin. */
export const scaledVolts = (
  codes: Float64Array,
  { yIncrement, yOrigin, yReference }: Pick<WaveformScale, "yIncrement" | "yOrigin" | "yReference">,
): Float64Array => codes.map((code) => (code - yReference) * yIncrement + yOrigin);

/** Time of the first sample from the trigger, seconds: (0 − reference)·increment + origin. */
export const firstSeconds = ({
  xIncrement,
  xOrigin,
  xReference,
}: Pick<WaveformScale, "xIncrement" | "xOrigin" | "xReference">): number => xOrigin - xReference * xIncrement;

/** Numbers with commas; null where one of them is none. */
export function numbersOf(text: string): Float64Array | null {
  const parts = text.split(",");
  const values = new Float64Array(parts.length);
  for (let i = 0; i < parts.length; i++) {
    const part = (parts[i] ?? "").trim();
    const value = Number(part);
    if (part === "" || !Number.isFinite(value)) return null;
    values[i] = value;
  }
  return values;
}
