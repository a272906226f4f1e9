import type { FiledCold, FiledColdReadings } from "../../../shared/cold-evidence.ts";
import type { StoredEvent } from "../../../shared/record/job.ts";
import { type CurrentEvent, currentEvents } from "../store/current-events.ts";
import { benchOf } from "../store/stamp.ts";

/** A permit's cold readings are good for half an hour (common practice, no source). */
const GOOD_FOR_MS = 30 * 60_000;
/** Clocks of benches and pages differ by less; what is dated further ahead is of an unknown age. */
export const AHEAD_MS = 60_000;
/** Above this a board is still warm from power, and its chips read lower (common practice, no source). */
const WARM_CELSIUS = 30;
/** Leakage about doubles in 8 to 12 °C (common practice, no source). */
const APART_CELSIUS = 10;

/**
 * The last cold reading of each point in a job's log, and whether it still counts at `nowMs` (wall clock, milliseconds)
 * with the board as warm as it is now, where that is known: half an hour, no repair and no run the board stopped since, on a bench that this record is of (`isOwn`; left out: all are), taken on a board that was cold and is now about as warm. A
 * pair is one point whichever end comes first. Corrections count; what they correct does not.
 */
export function filedCold(
  log: readonly StoredEvent[],
  now: { nowMs: number; boardCelsius?: number | null; isOwn?: (origin: string) => boolean },
): FiledColdReadings {
  const events = currentEvents(log);
  const readings = new Map<string, FiledCold>();
  events.forEach((each, index) => {
    if (each.event.kind !== "cold-readings") return;
    const { ohms, by, boardCelsius } = each.event;
    const sinceMs = now.nowMs - Date.parse(each.recordedAt);
    const ageMs = Math.max(0, sinceMs);
    const expired = expiredBecause({
      sinceMs,
      boardCelsius,
      nowCelsius: now.boardCelsius ?? null,
      after: events.slice(index + 1),
    });
    const isForeign = each.origin !== null && now.isOwn?.(each.origin) === false;
    const elsewhere = isForeign ? `it was taken on another bench (${benchOf(each.origin ?? "")})` : null;
    for (const [point, value] of Object.entries(ohms)) {
      const known = readings.has(turned(point)) ? turned(point) : point;
      const fourWire = each.event.fourWire?.includes(point) ?? false;
      readings.set(known, { ohms: value, by, ageMs, expired: elsewhere ?? expired, ...(fourWire ? { fourWire } : {}) });
    }
  });
  return Object.fromEntries(readings);
}

const turned = (point: string): string => point.split(":").reverse().join(":");

function expiredBecause(reading: {
  sinceMs: number;
  boardCelsius: number | null;
  nowCelsius: number | null;
  after: readonly CurrentEvent[];
}): string | null {
  const { sinceMs, boardCelsius, after } = reading;
  if (after.some(({ event }) => event.kind === "repair")) return "a repair was done after it";
  const stopped = after.some(({ event }) => event.kind === "run-ended" && event.end.outcome.ended === "board-stopped");
  if (stopped) return "the board stopped a run after it";
  if (sinceMs < -AHEAD_MS) return "it is dated later than now, so a clock was changed and its age is not known";
  if (sinceMs > GOOD_FOR_MS)
    return `it is ${Math.round(sinceMs / 60_000)} min old; it is valid for ${GOOD_FOR_MS / 60_000}`;
  if (boardCelsius === null) return null;
  if (boardCelsius > WARM_CELSIUS) return `the board was at ${boardCelsius} °C; a warm board reads lower`;
  const later = after.findLast(({ event }) => event.kind === "cold-readings" && event.boardCelsius !== null)?.event;
  const celsius = reading.nowCelsius ?? (later?.kind === "cold-readings" ? later.boardCelsius : null);
  return celsius !== null && Math.abs(celsius - boardCelsius) > APART_CELSIUS
    ? `the board was at ${boardCelsius} °C then and at ${celsius} °C later`
    : null;
}
