import type { BoardFile } from "../../../shared/files/board-file.ts";
import type { ColdReadings } from "../../../shared/permit.ts";
import type { StoredEvent } from "../../../shared/record/job.ts";
import type { RunPurpose } from "../../../shared/record/run-record.ts";
import { sayBound, sayVolts } from "../../../shared/words/amounts.ts";
import { drawForOwner } from "../../../shared/words/class-words.ts";
import { counted } from "../../../shared/words/counted.ts";
import { sinceRepair } from "../known/since-repair.ts";
import { currentEvents, eventsOf } from "../store/current-events.ts";
import { type JobRun, runsOf } from "../store/runs-of.ts";
import { hostItems } from "./host-items.ts";

import { TRIP_WORDS } from "./owner-words.ts";
import { lengthText, poweredMs } from "./report-runs.ts";

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
    lasted(log, last, startItem(last)),
    drawItem(last),
    railsItem(log),
    marginItem(log),
    soakItem(log),
    ...hostItems(log),
  ];
}

const notTested = (what: string, because = "not part of this record"): TestedItem => ({
  what,
  result: "not tested",
  because,
});

/** The last run of these purposes after the last repair; one that the bench ended counts only where there is no other. */
function lastEnded(log: readonly StoredEvent[], purposes: RunPurpose[]): JobRun | undefined {
  const begun = new Set(sinceRepair(log).flatMap((event) => (event.kind === "run-started" ? [event.header.run] : [])));
  const runs = runsOf(log).filter(
    (run) => run.end !== null && begun.has(run.header.run) && purposes.includes(run.header.purpose),
  );
  return runs.findLast((run) => run.end?.outcome.ended !== "failed") ?? runs.at(-1);
}

/** The item with how long the run had the board under power. */
function lasted(log: readonly StoredEvent[], run: JobRun | undefined, item: TestedItem): TestedItem {
  const onMs = run === undefined ? null : poweredMs(log, run.header.run);
  return onMs === null || item.result === "not tested"
    ? item
    : { ...item, because: `${item.because}; under power for ${lengthText(onMs)}` };
}

/** Cold readings of the board as it was found that a good board does not give, in words; empty where there are none, or nothing is known. */
export function coldFaultsFound(log: readonly StoredEvent[]): string[] {
  const events = currentEvents(log).map((each) => each.event);
  const first = events.findIndex((event) => event.kind === "repair");
  const found = events.slice(0, first < 0 ? undefined : first);
  const ohms = Object.assign({}, ...found.flatMap((event) => (event.kind === "cold-readings" ? [event.ohms] : [])));
  const board = runsOf(log).findLast((run) => run.header.board !== null)?.header.board ?? null;
  return judgedCold(ohms, board).low;
}

function coldItem(log: readonly StoredEvent[], board: BoardFile | null): TestedItem {
  const what = "Resistance of inputs and rails, unpowered";
  const readings = Object.entries(coldSinceRepair(log));
  if (readings.length === 0) return notTested(what, "no reading was filed");
  const { low, unjudged, cut } = judgedCold(coldSinceRepair(log), board);
  if (low.length > 0) return { what, result: "fail", because: low.join("; ") };
  if (cut.length > 0)
    return { what, result: "conditional", because: `reads open, as a cut input does too: ${cut.join(", ")}` };
  if (unjudged.length > 0) {
    return { what, result: "conditional", because: `no healthy value is known for ${unjudged.join(", ")}` };
  }
  return { what, result: "pass", because: `${readings.length} of ${readings.length} read as on a good board` };
}

/** Each reading against what a good board reads: what is not within it, what nothing is known of, and inputs that read open. */
function judgedCold(
  ohmsOf: ColdReadings,
  board: BoardFile | null,
): { low: string[]; unjudged: string[]; cut: string[] } {
  const low: string[] = [];
  const unjudged: string[] = [];
  const cut: string[] = [];
  for (const [point, ohms] of Object.entries(ohmsOf)) {
    const range = board?.rails[point]?.coldOhms;
    const least = range?.[0] ?? board?.feeds[point]?.coldOhmsMin ?? board?.coldPairs[point];
    if (least === undefined) unjudged.push(point);
    // An input whose fuse is gone reads open too: no short is not the same as whole.
    else if (ohms === "open" && range === undefined && board?.feeds[point] !== undefined) cut.push(point);
    else if (ohms !== "open" && ohms < least) low.push(`${point} ${ohms} Ω, under ${least} Ω`);
    else if (range !== undefined && (ohms === "open" || ohms > range[1])) {
      low.push(`${point} ${ohms === "open" ? "open" : `${ohms} Ω`}, over ${range[1]} Ω`);
    }
  }
  return { low, unjudged, cut };
}

/** The last reading of each point after the last repair: as the board was left. */
function coldSinceRepair(log: readonly StoredEvent[]): ColdReadings {
  const since = sinceRepair(log).flatMap((event) => (event.kind === "cold-readings" ? [event.ohms] : []));
  return Object.assign({}, ...since);
}

function startItem(run: JobRun | undefined): TestedItem {
  const what = "First power-up under a current limit, stage by stage";
  if (!run?.end) return notTested(what, "no run was completed");
  const { ended, trip, raises, reachedStage } = run.end.outcome;
  switch (ended) {
    case "board-stopped":
      return { what, result: "fail", because: (trip && TRIP_WORDS[trip.rule]) ?? "stopped because of the board" };
    case "failed":
      return notTested(what, "the bench ended the run, not the board");
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

/** The last sweep under power after the last repair: each rail's last value, with those that nobody came to. */
function railsItem(log: readonly StoredEvent[]): TestedItem {
  const what = "Voltage of each rail";
  const sweep = sinceRepair(log)
    .filter((event) => event.kind === "sweep-started")
    .findLast((each) => !each.cold);
  if (sweep === undefined) return notTested(what);
  const last = new Map(
    eventsOf(log, "sweep-rail")
      .filter((each) => each.sweep === sweep.sweep && each.rail.across === undefined)
      .map(({ rail }) => [rail.rail, rail]),
  );
  const having = (...verdicts: string[]): string[] =>
    [...last.values()].filter((each) => verdicts.includes(each.verdict)).map((each) => each.rail);
  const failed = having("fail", "conditional-fail");
  if (failed.length > 0) return { what, result: "fail", because: `outside its tolerance: ${failed.join(", ")}` };
  const measured = having("pass", "conditional-pass");
  if (measured.length === 0) return notTested(what, "no rail was measured");
  const saying = (said: string): string[] =>
    [...last.values()].filter((each) => each.said === said).map((each) => each.rail);
  // Low on a good board too, as it was powered: such a point is neither good nor bad, and is said.
  const unjudged = saying("cannot be judged");
  const bias = saying("bias present");
  const missed = sweep.points.filter((point) => !measured.includes(point) && !unjudged.includes(point));
  const near = having("conditional-pass");
  const besides = [
    ...(unjudged.length === 0 ? [] : [`cannot be judged as the board was powered: ${unjudged.join(", ")}`]),
    ...(bias.length === 0 ? [] : [`only a bias was read, not whether it swings: ${bias.join(", ")}`]),
  ];
  const told = (result: TestedItem["result"], because: string): TestedItem => ({
    what,
    result,
    because: [because, ...besides].join("; "),
  });
  if (missed.length > 0) return told("conditional", `not measured: ${missed.join(", ")}`);
  return near.length > 0
    ? told("conditional", `within the meter's error of a limit: ${near.join(", ")}`)
    : told("pass", `${counted(measured.length, "rail or signal", "rails and signals")} within tolerance`);
}

function drawItem(run: JobRun | undefined): TestedItem {
  const what = "Current drawn at working voltage";
  const verdict = run?.end?.verdict;
  if (!verdict) return notTested(what, "no run gave a verdict");
  const because = drawForOwner(verdict);
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

/** Shorter runs say nothing of what heat does to a board (common practice, no source). */
const LONG_RUN_MS = 30 * 60_000;

function soakItem(log: readonly StoredEvent[]): TestedItem {
  const what = "Long run under watch";
  const run = lastEnded(log, ["soak"]);
  if (run === undefined) return notTested(what);
  const item = { ...lasted(log, run, startItem(run)), what };
  const onMs = poweredMs(log, run.header.run) ?? run.end?.endedAtMs ?? 0;
  // Half a minute of a run goes into its stages.
  return item.result === "pass" && onMs < LONG_RUN_MS - 30_000
    ? { ...item, result: "conditional", because: `${item.because}; a long run is ${lengthText(LONG_RUN_MS)} or more` }
    : item;
}

/** Volts from an end of the tolerance that still count as that end. */
const NEAR_END_VOLTS = 0.1;

function marginItem(log: readonly StoredEvent[]): TestedItem {
  const what = "Supply voltage at both ends of its tolerance";
  const run = lastEnded(log, ["margin"]);
  if (run?.end == null) return notTested(what);
  const item = { ...lasted(log, run, startItem(run)), what };
  const feed = run.header.plan.feeds.find((each) => each.feed === run.header.plan.margin?.feed);
  const volts = (run.end.outcome.steps ?? []).map((step) => step.volts);
  if (feed === undefined || volts.length === 0) return item;
  const [low, high] = feed.tolerance.map((share) => feed.nominalVolts * (1 + share)) as [number, number];
  const [least, most] = [Math.min(...volts), Math.max(...volts)];
  const reached = least - low <= NEAR_END_VOLTS && high - most <= NEAR_END_VOLTS;
  const because = `${item.because}; ${sayVolts(least)} to ${sayVolts(most)} at the card, of ${sayBound(low, "V", "lowest")} to ${sayBound(high, "V", "highest")}`;
  return { ...item, because, result: item.result === "pass" && !reached ? "conditional" : item.result };
}
