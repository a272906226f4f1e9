import type { BoardFile } from "../../../shared/board-file.ts";
import type { DiagnosisReadings } from "../../../shared/diagnosis.ts";
import type { StoredEvent } from "../../../shared/job.ts";
import type { ColdReadings } from "../../../shared/permit.ts";
import type { RunPurpose } from "../../../shared/run-record.ts";
import type { SweepRail } from "../../../shared/sweep.ts";
import { diagnosisReadings } from "../../verdict/sweep/sweep-readings.ts";
import { currentEvents } from "../store/current-events.ts";
import { filedChecks } from "./filed-checks.ts";

/** Runs whose draw is that of a whole power-up. */
const DRAWS: readonly RunPurpose[] = ["powerup", "sweep", "soak", "cycle"];

/**
 * What a job holds of a board as it is since its last repair, as `diagnose` takes it: the last draw, the last value of each point of
 * its sweeps and cold readings, and what hosts, traces, dumps and tests elsewhere said.
 */
export function filedReadings(log: readonly StoredEvent[], board: BoardFile): DiagnosisReadings {
  const events = currentEvents(log).map((each) => each.event);
  const since = events.slice(events.findLastIndex((event) => event.kind === "repair") + 1);
  const cold: ColdReadings = {};
  const rails = new Map<string, SweepRail>();
  const purposes = new Map<string, RunPurpose>();
  let draw: DiagnosisReadings["draw"];
  for (const event of since) {
    if (event.kind === "cold-readings") Object.assign(cold, event.ohms);
    else if (event.kind === "sweep-rail") rails.set(`${event.rail.quantity} ${event.rail.rail}`, event.rail);
    else if (event.kind === "run-started") purposes.set(event.header.run, event.header.purpose);
    else if (event.kind === "run-ended" && event.end.verdict !== null) {
      const purpose = purposes.get(event.end.run);
      if (purpose !== undefined && DRAWS.includes(purpose)) draw = event.end.verdict.class;
    }
  }
  const known = diagnosisReadings(board, ofBoard([...rails.values()], board), {
    draw: draw ?? null,
    cold: Object.fromEntries(Object.entries(cold).filter(([points]) => isOfBoard(points, board))),
  });
  return { ...known, checks: filedChecks(log, board) };
}

/** The job may have seen another board file. */
const isOfBoard = (points: string, board: BoardFile): boolean =>
  points.split(":").every((point) => Object.hasOwn(board.rails, point) || Object.hasOwn(board.feeds, point));
const ofBoard = (rails: readonly SweepRail[], board: BoardFile): SweepRail[] =>
  rails.filter(({ rail }) => isOfBoard(rail, board));
