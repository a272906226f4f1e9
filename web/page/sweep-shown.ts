import type { SweepLine, SweepRail } from "../../shared/sweep.ts";
import type { WireSweep } from "../../shared/wire.ts";

type LineOf<Event extends SweepLine["event"]> = Extract<SweepLine, { event: Event }>;

/** A sweep as the page shows it, a fold of its lines; `readAtMs` is the page's own clock. */
export interface SweepShown {
  sweep: string;
  cold: boolean;
  job: string | null;
  draw: LineOf<"draw"> | null;
  place: LineOf<"place-probe"> | null;
  reading: LineOf<"reading"> | null;
  readAtMs: number;
  /** When the present point was named, by the page's own clock. */
  placedAtMs: number;
  question: LineOf<"question"> | null;
  hint: string | null;
  /** The value that was taken last, until the next point is named: the probe is on it still. */
  taken: SweepRail | null;
  cooling: LineOf<"cooling"> | null;
  /** The latest value of each point, in the order the points had their turn. */
  rails: SweepRail[];
  done: LineOf<"done"> | null;
}

/** The sweep as it stands after all of its lines so far. */
export function sweepShown({ lines, ...of }: WireSweep, nowMs: number): SweepShown {
  const begun: SweepShown = {
    ...of,
    draw: null,
    place: null,
    reading: null,
    readAtMs: nowMs,
    question: null,
    hint: null,
    taken: null,
    placedAtMs: nowMs,
    cooling: null,
    rails: [],
    done: null,
  };
  return lines.reduce((shown, line) => withLine(shown, line, nowMs), begun);
}

/** The sweep after one more line that came at `nowMs`. */
export function withLine(shown: SweepShown, line: SweepLine, nowMs: number): SweepShown {
  switch (line.event) {
    case "draw":
      return { ...shown, draw: line };
    case "place-probe":
      return {
        ...shown,
        place: line,
        placedAtMs: nowMs,
        reading: null,
        question: null,
        hint: null,
        taken: null,
        cooling: null,
      };
    case "reading":
      return { ...shown, reading: line, readAtMs: nowMs, cooling: null };
    case "question":
      return { ...shown, question: line };
    case "rail": {
      const { event: _, ...rail } = line;
      const others = shown.rails.filter((each) => each.rail !== rail.rail || each.quantity !== rail.quantity);
      return { ...shown, rails: [...others, rail], taken: rail, question: null, reading: null };
    }
    case "next":
      return { ...shown, place: line.rail === shown.place?.rail ? shown.place : null, reading: null };
    case "hint":
      return { ...shown, hint: line.text };
    case "mark":
      return { ...shown, hint: `Filed: ${line.text}.` };
    case "cooling":
      return { ...shown, cooling: line, place: null, reading: null, taken: null };
    case "done":
      return {
        ...shown,
        done: line,
        rails: line.rails,
        place: null,
        reading: null,
        question: null,
        taken: null,
        cooling: null,
      };
  }
}
