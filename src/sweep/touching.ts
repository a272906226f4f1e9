import type { MeterReading } from "../../shared/meter-reading.ts";
import type { SweepPoint } from "../../shared/sweep.ts";
import type { Sample } from "./sample.ts";
import { type Look, lookAt, stillnessOf, WINDOW_MS } from "./steady.ts";
import { NO_TOUCH, type Touch } from "./sweep-state.ts";

/** An overload must last this long, and be read this often, to be an answer. */
const OVERLOAD_MS = 300;
const OVERLOADS = 3;
/** Half a minute of the fastest meters. */
const MOST_CLIMB = 1000;
/** More than this is an open circuit, whatever figure the meter shows. */
const OPEN_OHMS = 1e8;

export const isOpen = (reading: MeterReading, point: SweepPoint): boolean =>
  reading.kind === "overload" || (point.quantity === "ohms" && (reading.value ?? 0) >= OPEN_OHMS);

/** The contact with one more reading in it; a jump begins it anew, since what it jumped from was a slip or a bounce. */
export function touchedBy(touch: Touch, reading: MeterReading, point: SweepPoint, sigma: number): Touch {
  if (isOpen(reading, point)) {
    return {
      ...touch,
      fromMs: touch.fromMs ?? reading.atMs,
      window: [],
      climb: [],
      overloads: touch.overloads + 1,
      overloadFromMs: touch.overloadFromMs ?? reading.atMs,
    };
  }
  const sample: Sample = { atMs: reading.atMs, value: reading.value ?? 0, halfWidth: reading.halfWidth };
  const before = touch.window.slice(-3);
  const level = before.reduce((sum, each) => sum + each.value, 0) / Math.max(1, before.length);
  const { step } = stillnessOf(point, level, sigma, WINDOW_MS);
  const isJump = before.length > 0 && Math.abs(sample.value - level) > step;
  const isRecent = (each: Sample): boolean => sample.atMs - each.atMs <= WINDOW_MS;
  return {
    ...touch,
    fromMs: touch.fromMs ?? sample.atMs,
    window: isJump ? [sample] : [...touch.window, sample].filter(isRecent),
    recent: [...touch.recent, sample].filter(isRecent),
    climb: point.quantity !== "ohms" ? [] : climbWith(touch.climb, sample).slice(-MOST_CLIMB),
    overloads: 0,
    overloadFromMs: null,
  };
}

/** Contact lost: what was seen of it counts for nothing. */
export const letGo = (touch: Touch): Touch => ({ ...NO_TOUCH, isWide: touch.isWide, isHinted: touch.isHinted });

export const isOverloaded = (touch: Touch, atMs: number): boolean =>
  touch.overloads >= OVERLOADS && touch.overloadFromMs !== null && atMs - touch.overloadFromMs >= OVERLOAD_MS / 2;

export const lookAtTouch = (touch: Touch, point: SweepPoint, sigma: number): Look => lookAt(point, touch.window, sigma);
export const lookAtRecent = (touch: Touch, point: SweepPoint, sigma: number): Look =>
  lookAt(point, touch.recent, sigma);

/** A climb slows down: a step down, or one much larger than the one before, is another point or another contact. */
const LARGER = 3;

function climbWith(climb: readonly Sample[], sample: Sample): readonly Sample[] {
  const [before, last] = climb.slice(-2);
  if (last === undefined || before === undefined) return [...climb, sample];
  const step = sample.value - last.value;
  const goesOn = step > 0 && step <= LARGER * Math.max(last.value - before.value, 0.01 * last.value);
  return goesOn ? [...climb, sample] : [sample];
}
