import { IDLE_ROUND_MS } from "../../shared/reading.ts";
import { BEAT_MS } from "./shared-beat.ts";

/** The age of a figure, and whether it may be shown as live. */
export interface Freshness {
  ageMs: number;
  stale: boolean;
  /** The time it stays live from now; below zero once it does not. */
  staleInMs: number;
}

/** Frames come at most every 50 ms, their way here takes a little, and they are shown with the next beat. */
const FRAME_SLACK_MS = 250 + BEAT_MS;

/**
 * A figure is live while it is younger than three read intervals and the slack of the way here. Its age is the age it
 * had when it was sent and the time since it came: a page that hears nothing sees its figures grow old by themselves.
 * `resting` says that no run is on: the bench reads less often then.
 */
export function freshness(
  figure: { ageMs: number | null; arrivedAtMs: number; readIntervalMs: number; resting: boolean },
  nowMs: number,
): Freshness | null {
  if (figure.ageMs === null) return null;
  const ageMs = figure.ageMs + Math.max(0, nowMs - figure.arrivedAtMs);
  const everyMs = figure.resting ? Math.max(figure.readIntervalMs, IDLE_ROUND_MS) : figure.readIntervalMs;
  const goodForMs = 3 * everyMs + FRAME_SLACK_MS;
  return { ageMs, stale: ageMs > goodForMs, staleInMs: goodForMs - ageMs };
}
