import type { WireJobEvent, WireJobRun, WireJobSheet } from "../../shared/wire-job.ts";

/** The work on a board between two repairs; the first round begins with the intake. */
export interface Round {
  /** Counts from 1. */
  number: number;
  isLast: boolean;
  events: WireJobEvent[];
  /** The kinds of its events. */
  kinds: ReadonlySet<string>;
  runs: WireJobRun[];
}

/** The rounds of a job, in order: each repair ends one, and belongs to the one it ends. */
export function roundsOf(sheet: WireJobSheet): Round[] {
  const parts: WireJobEvent[][] = [[]];
  for (const event of sheet.events) {
    parts.at(-1)?.push(event);
    if (event.kind === "repair") parts.push([]);
  }
  const beginsAt = parts.map((_, index) => (index === 0 ? "" : (parts[index - 1]?.at(-1)?.at ?? "")));
  return parts.map((events, index) => ({
    number: index + 1,
    isLast: index === parts.length - 1,
    events,
    kinds: new Set(events.map((each) => each.kind)),
    runs: sheet.runs.filter(
      (run) => run.startedAt >= (beginsAt[index] ?? "") && run.startedAt < (beginsAt[index + 1] ?? "~"),
    ),
  }));
}

/** The moments of a run that a person noted, and those at which a test host saw something. */
export const notesOf = (sheet: WireJobSheet | null, run: string): { atMs: number; text: string }[] => [
  ...(sheet?.events ?? []).flatMap(({ of }) => (of?.run === run ? [{ atMs: of.atMs, text: of.text }] : [])),
  ...(sheet?.runs.find((each) => each.run === run)?.hostSaw ?? []),
];
