import type { StoredEvent } from "../../../shared/record/job.ts";
import type { RunHeader } from "../../../shared/record/run-record.ts";
import type { BaselineCapture } from "../../analysis/baseline-band.ts";
import type { DrawSurroundings } from "../../analysis/draw-baseline.ts";
import { ampsUncertainty } from "../../analysis/reading-uncertainty.ts";
import { plateauUncertainty } from "../../verdict/amps-uncertainty.ts";
import { currentEvents, eventsOf } from "../store/current-events.ts";
import type { JobStore } from "../store/job-store.ts";
import { type JudgedRun, judgedRuns } from "../store/runs-of.ts";

/** The set-up of a run, in words that are equal where two runs can be held against each other. */
export function surroundingsOf({ plan, instruments, conditions }: RunHeader): DrawSurroundings & { feeds: string[] } {
  const supplies = [...new Set(plan.feeds.map((feed) => feed.supply))]
    .map((name) => instruments.find((each) => each.name === name)?.identity ?? "switched by hand")
    .sort();
  return {
    feeds: plan.feeds.map((feed) => feed.feed).sort(),
    supply: supplies.join("; "),
    leads: plan.feeds
      .map((feed) => `${feed.feed} ${feed.leadOhms === null ? "unknown" : `${feed.leadOhms} Ω`} ${feed.sense}`)
      .sort()
      .join("; "),
    fans: conditions.fans,
    host: conditions.host,
  };
}

/** A good board's draw, with the feeds that were on. */
export interface GoodCapture extends BaselineCapture {
  feeds: string[];
}

/** The newest jobs of a kind of board that are looked through for good ones: more would teach nothing new, and take time before each run. */
export const MOST_JOBS = 500;

/**
 * The draws of good boards of this kind: of each job whose last result is `passed`, the runs after its last repair (or all) that were judged
 * before it passed, reached a level and were not cut. A board is known by its serial number where the job has one, else by its job.
 * `feeds`: only runs that had these on.
 */
export async function goodCaptures(
  store: JobStore,
  boardName: string,
  feeds: readonly string[] | null,
): Promise<GoodCapture[]> {
  const found: GoodCapture[] = [];
  for (const job of await store.everPassed(boardName, MOST_JOBS)) {
    found.push(...goodCapturesOf(job, await store.events(job), boardName, feeds));
  }
  return found;
}

function goodCapturesOf(
  job: string,
  log: readonly StoredEvent[],
  boardName: string,
  feeds: readonly string[] | null,
): GoodCapture[] {
  const last = currentEvents(log).findLast(({ event }) => event.kind === "result");
  if (last?.event.kind !== "result" || last.event.result !== "passed") return [];
  const passed = log.find(({ id }) => id === last.id)?.seq ?? 0;
  const repaired = log.findLast(({ event, seq }) => event.kind === "repair" && seq < passed)?.seq ?? 0;
  const started = new Map(
    log.flatMap(({ event, seq }) => (event.kind === "run-started" ? [[event.header.run, seq] as const] : [])),
  );
  const serial = eventsOf(log, "intake").findLast((each) => each.serialNumber !== undefined)?.serialNumber;
  return judgedRuns(log)
    .filter(({ header }) => {
      const at = started.get(header.run) ?? 0;
      return at > repaired && at < passed && header.board?.name === boardName;
    })
    .flatMap((run) => captureOf(run, serial ?? job, feeds));
}

function captureOf({ header, end }: JudgedRun, board: string, feeds: readonly string[] | null): GoodCapture[] {
  const { class: name, features } = end.verdict;
  const { feeds: own, supply, leads, fans, host } = surroundingsOf(header);
  if ((name !== "normal" && name !== "core-alive") || features.plateauAmps === null || end.outcome.trip !== null)
    return [];
  if (feeds !== null && (feeds.length !== own.length || !feeds.every((feed) => own.includes(feed)))) return [];
  return [
    {
      board,
      amps: features.plateauAmps,
      standardU: plateauUncertainty(header, end.verdict) ?? ampsUncertainty(features.plateauAmps, null, 0),
      supply: supply ?? "",
      leads: leads ?? "",
      fans: fans ?? "unknown",
      host: host ?? "unknown",
      feeds: own,
    },
  ];
}
