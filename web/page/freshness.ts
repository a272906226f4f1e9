/** The age of a figure, and whether it may be shown as live. */
export interface Freshness {
  ageMs: number;
  stale: boolean;
  /** The time it stays live from now; below zero once it does not. */
  staleInMs: number;
}

/** Frames come at most every 50 ms and their way here takes a little. */
const FRAME_SLACK_MS = 250;

/**
 * A figure is live while it is younger than three read intervals and the slack of the way here. Its age is the age it
 * had when it was sent and the time since it came: a page that hears nothing sees its figures grow old by themselves.
 */
export function freshness(
  figure: { ageMs: number | null; arrivedAtMs: number; readIntervalMs: number },
  nowMs: number,
): Freshness | null {
  if (figure.ageMs === null) return null;
  const ageMs = figure.ageMs + Math.max(0, nowMs - figure.arrivedAtMs);
  const goodForMs = 3 * figure.readIntervalMs + FRAME_SLACK_MS;
  return { ageMs, stale: ageMs > goodForMs, staleInMs: goodForMs - ageMs };
}
