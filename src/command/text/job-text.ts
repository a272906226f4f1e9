import type { JobRecord } from "../../../shared/record/job.ts";
import type { StageTime } from "../../job/known/stages-of.ts";
import { eventText } from "../../job/report/event-text.ts";
import { visibleLine as oneLine } from "../../job/report/visible-text.ts";
import { jobLine } from "./job-line.ts";
import { stagesText } from "./stages-text.ts";

/** A job with its stages and its log, for a terminal. */
export function jobText(record: JobRecord, stages: readonly StageTime[]): string {
  // A run has hundreds of events that only a replay needs: its beginning and its end are told, and what a person did meanwhile.
  const told = record.log.filter(
    ({ event }) => event.kind !== "run-events" || event.events.some((each) => each.event === "mark"),
  );
  const log = told.map(
    ({ seq, recordedAt, event }) =>
      `${String(seq).padStart(4)}  ${recordedAt.slice(0, 19).replace("T", " ")}  ${event.kind.padEnd(13)}  ${oneLine(eventText(event))}`,
  );
  const staged = stages.length === 0 ? [] : ["stages, and the time in each:", stagesText(stages).trimEnd(), "log:"];
  return `${[jobLine(record), `id ${record.job}; times are UTC`, ...staged, ...log].join("\n")}\n`;
}
