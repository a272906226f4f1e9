import { CorrectableEvent, type JobRecord, type StoredEvent } from "../../../shared/record/job.ts";
import type { WireJobEvent, WireJobRun, WireJobSheet } from "../../../shared/wire-job.ts";
import { filedCold } from "../../job/known/filed-cold.ts";
import { eventText } from "../../job/report/event-text.ts";
import { hostMarks } from "../../job/report/report-host.ts";
import { visibleText } from "../../job/report/visible-text.ts";
import { type JobRun, runsOf } from "../../job/store/runs-of.ts";

/** A job as a page shows it. `isOwn` tells whether this record filed under an origin. */
export function jobSheet(record: JobRecord, isOwn: (origin: string) => boolean): WireJobSheet {
  return {
    id: record.job,
    short: record.short,
    title: record.title,
    board: record.board,
    createdAt: record.createdAt,
    cold: coldOf(record.log, isOwn),
    // The acts of a run are in its capture and its end; its events are the machine's.
    events: record.log.filter((each) => each.event.kind !== "run-events").map(eventOf),
    runs: runsOf(record.log).map((run) => runOf(run, record.log)),
  };
}

/** The last cold reading of each point, also where they were filed apart, each with its own age. */
function coldOf(log: readonly StoredEvent[], isOwn: (origin: string) => boolean): WireJobSheet["cold"] {
  const nowMs = Date.now();
  const readings = Object.entries(filedCold(log, { nowMs, isOwn }));
  return Object.fromEntries(
    readings.map(([point, { ohms, ageMs, expired }]) => [
      point,
      { ohms, at: new Date(nowMs - ageMs).toISOString(), expired },
    ]),
  );
}

function eventOf({ id, seq, recordedAt, event }: StoredEvent): WireJobEvent {
  const said = event.kind === "correction" ? event.event : event;
  return {
    id,
    seq,
    at: recordedAt,
    kind: event.kind,
    text: visibleText(eventText(event)),
    file:
      said.kind === "attachment"
        ? {
            sha256: said.sha256,
            name: said.name,
            mediaType: said.mediaType,
            bytes: said.bytes,
            caption: said.caption,
          }
        : null,
    ...(said.kind === "note" && said.of !== undefined ? { of: { ...said.of, text: visibleText(said.text) } } : {}),
    correctable: CorrectableEvent.safeParse(event).success,
  };
}

function runOf({ header, end }: JobRun, log: readonly StoredEvent[]): WireJobRun {
  const hostSaw = end === null ? [] : hostMarks(log, header, end.endedAtMs);
  return {
    run: header.run,
    capture: header.capture,
    purpose: header.purpose,
    startedAt: header.startedAt,
    outcome: end?.outcome ?? null,
    verdict: end?.verdict ?? null,
    energyJoules: end?.energyJoules ?? null,
    ...(hostSaw.length === 0 ? {} : { hostSaw }),
  };
}
