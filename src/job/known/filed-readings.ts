import type { BoardFile } from "../../../shared/files/board-file.ts";
import type { FaultData } from "../../../shared/files/fault-data.ts";
import type { ColdReadings } from "../../../shared/permit.ts";
import { type DiagnosisReadings, HostCondition } from "../../../shared/record/diagnosis.ts";
import { type JobEvent, type StoredEvent, TAKEN_BACK } from "../../../shared/record/job.ts";
import type { RunPurpose } from "../../../shared/record/run-record.ts";
import type { SweepRail } from "../../../shared/sweep.ts";
import { boardRolesOf } from "../../verdict/diagnosis/board-roles.ts";
import { powerTreeOf } from "../../verdict/diagnosis/power-tree.ts";
import { readingProblems } from "../../verdict/diagnosis/reading-problems.ts";
import { shippedFaultData } from "../../verdict/diagnosis/shipped-fault-data.ts";
import { diagnosisReadings } from "../../verdict/sweep/sweep-readings.ts";
import { filedChecks, startVolts } from "./filed-checks.ts";
import { sinceRepair } from "./since-repair.ts";

/** Runs whose draw is that of a whole power-up. */
const DRAWS: readonly RunPurpose[] = ["powerup", "sweep", "soak", "cycle"];

/**
 * The readings that a job holds of a board as it is since its last repair, as `diagnose` takes it: the last draw, the last value of each point of
 * its sweeps and cold readings, what hosts, traces, dumps and tests elsewhere said, and what a person answered. A signal that the host
 * drives and that was read before the host was there is left out, but for a reset that was pulled up: it says nothing now. `now` are events about to be filed.
 */
export function filedReadings(
  log: readonly StoredEvent[],
  board: BoardFile,
  now: readonly JobEvent[] = [],
): DiagnosisReadings {
  const since = sinceRepair(log);
  const cold: ColdReadings = {};
  const rails = new Map<string, SweepRail>();
  const purposes = new Map<string, RunPurpose>();
  const hosts = new Map<string, string>();
  const readUnder = new Map<string, string>();
  const traced: Record<string, number | "pulsing"> = {};
  let draw: DiagnosisReadings["draw"];
  let host: HostCondition | undefined;
  let state: string | undefined;
  /** The state of power that each run was brought to by a person. */
  const marked = new Map<string, string>();
  let lastDrawn: string | undefined;
  for (const event of since) {
    if (event.kind === "cold-readings") Object.assign(cold, event.ohms);
    else if (event.kind === "sweep-rail") {
      rails.set(`${event.rail.quantity} ${event.rail.rail}`, event.rail);
      readUnder.set(event.rail.rail, hosts.get(event.run ?? "") ?? "unknown");
      state = marked.get(event.run ?? "") ?? state;
    } else if (event.kind === "start-order") Object.assign(traced, startVolts(event.result, board));
    else if (event.kind === "run-started") {
      purposes.set(event.header.run, event.header.purpose);
      hosts.set(event.header.run, event.header.conditions.host);
      host = hostOf(event.header.conditions.host) ?? host;
    } else if (event.kind === "answer" && event.to === "host") host = hostOf(event.answer) ?? host;
    else if (event.kind === "answer" && event.to === "state" && event.answer !== TAKEN_BACK) state = event.answer;
    else if (event.kind === "run-events") {
      for (const each of event.events)
        if (each.event === "mark" && each.state !== null) marked.set(event.run, each.state);
    } else if (event.kind === "run-ended" && event.end.verdict !== null) {
      const purpose = purposes.get(event.end.run);
      if (purpose !== undefined && DRAWS.includes(purpose)) {
        draw = event.end.verdict.class;
        lastDrawn = event.end.run;
      }
    }
  }
  // Without volts of a sweep there is the draw alone, and its state is that of its run.
  if (rails.size === 0) state ??= marked.get(lastDrawn ?? "");
  const known = diagnosisReadings(board, ofBoard([...rails.values()], board), {
    draw: draw ?? null,
    cold: Object.fromEntries(Object.entries(cold).filter(([points]) => isOfBoard(points, board))),
  });
  const checks = filedChecks(log, board, now);
  if (checks["host-look"] !== undefined) host = "attached";
  const roles = boardRolesOf(powerTreeOf(board), shippedFaultData()).signals;
  // A reset that a resistor released was judged as it stood; whatever else a host drives was not.
  const wasDriven = (point: string): boolean =>
    readUnder.get(point) === "attached" || (readUnder.get(point) === "pulled-up" && roles.get(point) === "reset");
  const signals = Object.entries(known.signals).filter(
    ([point]) => host !== "attached" || board.rails[point]?.drivenBy !== "host" || wasDriven(point),
  );
  const isSignal = ([name]: [string, unknown]): boolean => board.rails[name]?.signal === true;
  const levels = Object.entries(traced);
  // A meter's value comes before an oscilloscope's.
  return {
    ...known,
    volts: { ...Object.fromEntries(levels.filter((each) => !isSignal(each))), ...known.volts },
    signals: { ...Object.fromEntries(levels.filter(isSignal)), ...Object.fromEntries(signals) },
    checks,
    ...(host === undefined ? {} : { host }),
    ...(state === undefined ? {} : { state }),
  };
}

const hostOf = (word: string): HostCondition | undefined => HostCondition.safeParse(word).data;

/** The job may have seen another board file. */
const isOfBoard = (points: string, board: BoardFile): boolean =>
  points.split(":").every((point) => Object.hasOwn(board.rails, point) || Object.hasOwn(board.feeds, point));
const ofBoard = (rails: readonly SweepRail[], board: BoardFile): SweepRail[] =>
  rails.filter(({ rail }) => isOfBoard(rail, board));

/** Readings of now over what is filed, point by point. */
export function laidOver(filed: DiagnosisReadings, now: DiagnosisReadings): DiagnosisReadings {
  return {
    ...filed,
    ...now,
    coldOhms: { ...filed.coldOhms, ...now.coldOhms },
    again: { ...filed.again, ...now.again },
    volts: { ...filed.volts, ...now.volts },
    signals: { ...filed.signals, ...now.signals },
    checks: { ...filed.checks, ...now.checks },
    cannotReach: [...new Set([...filed.cannotReach, ...now.cannotReach])],
  };
}

/** Without what was filed under another board file, or of a kind of board that this one is not. */
export function ofThisBoard(filed: DiagnosisReadings, board: BoardFile, data: FaultData): DiagnosisReadings {
  const strays = new Set(readingProblems(board, filed, data).map(({ path }) => path.join(" ")));
  const only = <T>(section: string, values: Record<string, T>): Record<string, T> =>
    Object.fromEntries(Object.entries(values).filter(([key]) => !strays.has(`${section} ${key}`)));
  const { state, ...rest } = filed;
  return {
    ...rest,
    ...(state === undefined || strays.has("state") ? {} : { state }),
    coldOhms: only("coldOhms", filed.coldOhms),
    volts: only("volts", filed.volts),
    signals: only("signals", filed.signals),
    checks: only("checks", filed.checks),
  };
}
