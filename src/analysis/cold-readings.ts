import type { BenchFile } from "../../shared/files/bench-file.ts";
import type { BoardFile } from "../../shared/files/board-file.ts";
import type { ColdReadings } from "../../shared/permit.ts";

/** A field that does not fit, by its path, and what is there and what should be. */
export interface PlanProblem {
  path: string;
  message: string;
}

/** Rails a technician may name where no board file says what there is (words of the trade). */
const USUAL_RAILS = ["core", "mem", "memory", "soc", "pll", "pcie", "12v", "5v", "3v3", "1v8"];

/** Ohms of an open reading: a number so large that no rule takes it for a fault. */
export const OPEN_OHMS = 1e9;

/** The reading kept of a point, or of a pair in either order; undefined where there is nothing. */
export function readingAt<T>(readings: Readonly<Record<string, T>>, point: string): T | undefined {
  const name = [point, point.split(":").reverse().join(":")].find((each) => Object.hasOwn(readings, each));
  return name === undefined ? undefined : readings[name];
}

/** A cold reading as a number of ohms; null where it was not taken. A pair is found in either order. */
export function coldOhmsOf(cold: ColdReadings, point: string): number | null {
  const reading = readingAt(cold, point);
  if (reading === undefined) return null;
  return reading === "open" ? OPEN_OHMS : reading;
}

/**
 * Cold readings of points that are not there. With a board file a point is a feed or a rail of it, without one a feed of
 * the bench or a usual rail; a pair names two different points.
 */
export function coldReadingProblems(cold: ColdReadings, bench: BenchFile, board: BoardFile | null): PlanProblem[] {
  const known = new Set([
    ...Object.keys(bench.feeds),
    ...(board === null ? USUAL_RAILS : [...Object.keys(board.feeds), ...Object.keys(board.rails)]),
  ]);
  return Object.entries(cold).flatMap(([point, ohms]): PlanProblem[] => {
    const path = `ohms.${point}`;
    const ends = point.split(":");
    if (ends.length > 2 || (ends.length === 2 && ends[0] === ends[1])) {
      return [{ path, message: "is not a point; it should be POINT or two different points, A:B" }];
    }
    const strange = ends.find((end) => !known.has(end));
    if (strange !== undefined) {
      return [
        { path, message: `names ${JSON.stringify(strange)}; the points of this board are: ${[...known].join(", ")}` },
      ];
    }
    if (ohms !== "open" && !(Number.isFinite(ohms) && ohms >= 0))
      return [{ path, message: `is ${ohms}; it should be ohms, 0 or more, or "open"` }];
    return [];
  });
}
