import type { RunOutcome } from "../../../shared/plan.ts";
import type { StoredEvent } from "../../../shared/record/job.ts";
import { currentEvents, eventsOf } from "../store/current-events.ts";
import { type JudgedRun, judgedRuns, runsOf } from "../store/runs-of.ts";

/** Ends that leave a finding: the plan's own, and the board's. What the bench, the computer or a hand ended says nothing of it. */
const isSoundEnd = ({ ended, reachedStage, trip }: RunOutcome, keptOn: boolean): boolean => {
  if (ended === "as-planned" || ended === "board-stopped") return true;
  // A hold is ended by a key or by its longest time, long after its draw was judged.
  return keptOn && (ended === "stopped-by-person" || trip?.rule === "on-time") && reachedStage === "watch";
};

/** True where what the run came to is a finding about the board; a margin run leaves the voltage that its draw is judged at. */
const isSound = ({ header, end }: JudgedRun): boolean =>
  header.purpose !== "margin" && isSoundEnd(end.outcome, header.plan.keepOn);

export interface FoundAndLeft {
  /** The last sound run before the first repair, or the last of all where nothing was repaired; null where there is none. */
  found: JudgedRun | null;
  /** The last sound run after the last repair; null without a repair or without such a run. */
  left: JudgedRun | null;
  repaired: boolean;
}

/** The pair that a job comes down to: how the board was found, and how it was left (as in the calibration trade). */
export function foundAndLeft(log: readonly StoredEvent[]): FoundAndLeft {
  const events = currentEvents(log);
  const isRepair = ({ event }: (typeof events)[number]): boolean => event.kind === "repair";
  const first = events.findIndex(isRepair);
  const last = events.findLastIndex(isRepair);
  const startedAt = new Map(
    events.flatMap(({ event }, index) => (event.kind === "run-started" ? [[event.header.run, index]] : [])),
  );
  const sound = judgedRuns(log).filter(isSound);
  const at = ({ header }: JudgedRun): number => startedAt.get(header.run) ?? 0;
  return {
    found: (first < 0 ? sound : sound.filter((run) => at(run) < first)).at(-1) ?? null,
    left: last < 0 ? null : (sound.filter((run) => at(run) > last).at(-1) ?? null),
    repaired: first >= 0,
  };
}

/** The time that any output of a run was on, milliseconds; null where the record does not say. */
export function poweredMs(log: readonly StoredEvent[], run: string): number | null {
  const events = eventsOf(log, "run-events").flatMap((each) => (each.run === run ? each.events : []));
  const ended = runsOf(log).find((each) => each.header.run === run)?.end?.endedAtMs ?? null;
  const on = new Set<string>();
  let sinceMs: number | null = null;
  let total = 0;
  let wasOn = false;
  for (const event of events) {
    if (event.event === "output" && event.state === "on") on.add(event.feed);
    else if (event.event === "output") on.delete(event.feed);
    else if (event.event === "cut-done" && event.output === "off") on.clear();
    else continue;
    if (on.size > 0) {
      sinceMs ??= event.atMs;
      wasOn = true;
    } else if (sinceMs !== null) {
      total += event.atMs - sinceMs;
      sinceMs = null;
    }
  }
  if (sinceMs !== null && ended !== null) total += Math.max(0, ended - sinceMs);
  return wasOn ? total : null;
}

/** A length of time as people say it: `under 1 s`, `41 s`, `12 min`, `3 h 20 min`. */
export function lengthText(ms: number): string {
  if (ms < 1000) return "under 1 s";
  const seconds = Math.round(ms / 1000);
  if (seconds < 90) return `${seconds} s`;
  const minutes = Math.round(seconds / 60);
  return minutes < 90 ? `${minutes} min` : `${Math.floor(minutes / 60)} h ${minutes % 60} min`;
}
