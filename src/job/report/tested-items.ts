import type { BoardFile } from "../../../shared/board-file.ts";
import { CLASS_FOR_OWNER } from "../../../shared/class-words.ts";
import type { StoredEvent } from "../../../shared/job.ts";
import type { ColdReadings } from "../../../shared/permit.ts";
import type { RunPurpose } from "../../../shared/run-record.ts";
import { currentEvents, eventsOf } from "../store/current-events.ts";
import { type JobRun, runsOf } from "../store/runs-of.ts";
import { hostItems } from "./host-items.ts";

/** A check after a repair and how it went. "Pass" is never said of a check that was not made. */
export interface TestedItem {
  what: string;
  result: "pass" | "conditional" | "fail" | "not tested";
  because: string;
}

/**
 * The checks that a repaired board goes through and how each went in the last runs of the job (common practice, no
 * source), in the order they are made. What this record cannot hold is listed as not tested rather than left out.
 */
export function testedItems(log: readonly StoredEvent[]): TestedItem[] {
  const last = lastEnded(log, ["powerup", "sweep", "soak", "margin", "cycle"]);
  return [
    coldItem(log, last?.header.board ?? null),
    startItem(last),
    drawItem(last),
    railsItem(log),
    runItem(log, "margin", "Supply voltage at both ends of its tolerance"),
    runItem(log, "soak", "Long run under watch"),
    ...hostItems(log),
  ];
}

const notTested = (what: string, because = "not part of this record"): TestedItem => ({
  what,
  result: "not tested",
  because,
});

function lastEnded(log: readonly StoredEvent[], purposes: RunPurpose[]): JobRun | undefined {
  return runsOf(log).findLast((run) => run.end !== null && purposes.includes(run.header.purpose));
}

function coldItem(log: readonly StoredEvent[], board: BoardFile | null): TestedItem {
  const what = "Resistance of inputs and rails, without power";
  const readings = Object.entries(coldSinceRepair(log));
  if (readings.length === 0) return notTested(what, "no reading was filed");
  const low: string[] = [];
  const unjudged: string[] = [];
  for (const [point, ohms] of readings) {
    const range = board?.rails[point]?.coldOhms;
    const least = range?.[0] ?? board?.feeds[point]?.coldOhmsMin ?? board?.coldPairs[point];
    if (least === undefined) unjudged.push(point);
    else if (ohms !== "open" && ohms < least) low.push(`${point} ${ohms} Ω, under ${least} Ω`);
    else if (range !== undefined && (ohms === "open" || ohms > range[1])) {
      low.push(`${point} ${ohms === "open" ? "open" : `${ohms} Ω`}, over ${range[1]} Ω`);
    }
  }
  if (low.length > 0) return { what, result: "fail", because: low.join("; ") };
  if (unjudged.length > 0) {
    return { what, result: "conditional", because: `no value of a good board is known for ${unjudged.join(", ")}` };
  }
  return { what, result: "pass", because: `${readings.length} of ${readings.length} as a good board reads` };
}

/** The last reading of each point after the last repair: as the board was left. */
function coldSinceRepair(log: readonly StoredEvent[]): ColdReadings {
  const events = currentEvents(log).map((each) => each.event);
  const repaired = events.findLastIndex((event) => event.kind === "repair");
  const since = events.slice(repaired + 1).flatMap((event) => (event.kind === "cold-readings" ? [event.ohms] : []));
  return Object.assign({}, ...since);
}

function startItem(run: JobRun | undefined): TestedItem {
  const what = "First power-up under a current limit, stage by stage";
  if (!run?.end) return notTested(what, "no run was finished");
  const { ended, trip, raises, reachedStage } = run.end.outcome;
  switch (ended) {
    case "board-stopped":
      return { what, result: "fail", because: trip?.because ?? "stopped because of the board" };
    case "failed":
      return notTested(what, `the bench failed: ${trip?.because ?? "no more is known"}`);
    case "stopped-by-person":
      return reachedStage === "watch" || reachedStage === "off"
        ? { what, result: "conditional", because: "stopped by hand while it was watched" }
        : notTested(what, `stopped by hand at ${reachedStage}`);
    case "as-planned":
      return raises > 0
        ? {
            what,
            result: "conditional",
            because: `the current limit had to be raised ${raises === 1 ? "once" : `${raises} times`}`,
          }
        : { what, result: "pass", because: "every stage was clean" };
  }
}

/** The last sweep under power: each rail's last value, with those that nobody came to. */
function railsItem(log: readonly StoredEvent[]): TestedItem {
  const what = "Voltage of each rail";
  const sweep = eventsOf(log, "sweep-started").findLast((each) => !each.cold);
  if (sweep === undefined) return notTested(what);
  const last = new Map(
    eventsOf(log, "sweep-rail")
      .filter((each) => each.sweep === sweep.sweep)
      .map(({ rail }) => [rail.rail, rail]),
  );
  const having = (...verdicts: string[]): string[] =>
    [...last.values()].filter((each) => verdicts.includes(each.verdict)).map((each) => each.rail);
  const failed = having("fail", "conditional-fail");
  if (failed.length > 0) return { what, result: "fail", because: `outside its tolerance: ${failed.join(", ")}` };
  const measured = having("pass", "conditional-pass");
  if (measured.length === 0) return notTested(what, "no rail was measured");
  const missed = sweep.points.filter((point) => !measured.includes(point));
  const near = having("conditional-pass");
  if (missed.length > 0) return { what, result: "conditional", because: `not measured: ${missed.join(", ")}` };
  return near.length > 0
    ? { what, result: "conditional", because: `within the meter's error of a limit: ${near.join(", ")}` }
    : { what, result: "pass", because: `${measured.length} rails and signals within tolerance` };
}

function drawItem(run: JobRun | undefined): TestedItem {
  const what = "Current drawn at working voltage";
  const verdict = run?.end?.verdict;
  if (!verdict) return notTested(what, "no run gave a verdict");
  const because = CLASS_FOR_OWNER[verdict.class];
  switch (verdict.class) {
    case "normal":
      return { what, result: "pass", because };
    case "core-alive":
    case "standby-only":
    case "cannot-tell":
      return { what, result: "conditional", because };
    default:
      return { what, result: "fail", because };
  }
}

function runItem(log: readonly StoredEvent[], purpose: RunPurpose, what: string): TestedItem {
  const run = lastEnded(log, [purpose]);
  return run === undefined ? notTested(what) : { ...startItem(run), what };
}
