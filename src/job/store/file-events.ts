import type { Kysely } from "kysely";
import type { JobEventOf } from "../../../shared/record/job.ts";
import type { RunHeader } from "../../../shared/record/run-record.ts";
import { ampsUncertainty } from "../../analysis/reading-uncertainty.ts";
import { plateauUncertainty } from "../../verdict/amps-uncertainty.ts";
import type { DrawRow, JobTables } from "../database/job-tables.ts";
import type { RecordDatabase } from "../database/record-database.ts";
import { eventOf, type ReadEvent, readEvent } from "./event-document.ts";
import { storable } from "./event-facts.ts";

type Db = Kysely<JobTables>;
type EventRow = JobTables["job_event"];
type Adding = Pick<RecordDatabase, "addRows">;

/**
 * Files events with all that is derived from them: what jobs are found by, captures, draws. Filing one again changes
 * nothing. Their jobs must be there. A body this program does not understand is kept, and nothing is derived from it.
 */
export async function fileEvents(db: Db, database: Adding, rows: readonly EventRow[]): Promise<void> {
  await database.addRows(db, "job_event", rows);
  await deriveFrom(db, database, rows);
}

/** Files what is derived from events that are there already. */
export async function deriveFrom(db: Db, database: Adding, rows: readonly EventRow[]): Promise<void> {
  const understood = rows.flatMap((row) => {
    const read = readEvent(row);
    return read === null ? [] : [{ row, ...read }];
  });
  await database.addRows(db, "job_fact", understood.flatMap(factRows));
  await database.addRows(db, "event_words", wordsByJob(understood));
  const headers = new Map<string, RunHeader>();
  const captures: JobTables["capture"][] = [];
  for (const { row, event } of understood) {
    if (event.kind !== "run-started") continue;
    const { header } = event;
    headers.set(header.run, header);
    captures.push({ id: header.capture, job: row.job, run: header.run });
  }
  await database.addRows(db, "capture", captures);
  const draws: DrawRow[] = [];
  for (const { row, event } of understood) {
    if (event.kind !== "run-ended" || event.end.verdict === null) continue;
    // A run that began long before it ended is looked up; its header is large, and most end with their beginning at hand.
    const header = headers.get(event.end.run) ?? (await headerOf(db, event.end.run));
    if (header !== null) draws.push(drawOf(row.job, header, event));
  }
  await database.addRows(db, "draw", draws);
}

interface Understood extends ReadEvent {
  row: EventRow;
}

const factRows = ({ row, event, facts }: Understood): JobTables["job_fact"][] =>
  facts.map((fact) => ({
    event: row.id,
    ...fact,
    job: row.job,
    original: event.kind === "correction" ? event.of : row.id,
    stamp: row.stamp,
  }));

/**
 * One row of words a job, under the first event that has some: a job's index entry is written anew with each row. In order of
 * jobs whoever files them, so that two who file words of the same jobs at once do not wait for each other in a ring.
 */
function wordsByJob(filed: readonly Understood[]): JobTables["event_words"][] {
  const byJob = new Map<string, { event: string; job: string; words: Set<string> }>();
  for (const { row, words } of filed) {
    if (words.length === 0) continue;
    const known = byJob.get(row.job) ?? { event: row.id, job: row.job, words: new Set() };
    for (const word of words) known.words.add(word);
    byJob.set(row.job, known);
  }
  return [...byJob.values()]
    .map(({ event, job, words }) => ({ event, job, words: [...words].join(" ") }))
    .sort((a, b) => (a.job < b.job ? -1 : 1));
}

/** Counts events into the log of an origin, from number `first` on. */
export async function logEvents(
  db: Db,
  database: Adding,
  { origin, first }: { origin: string; first: number },
  events: readonly string[],
): Promise<void> {
  await database.addRows(
    db,
    "log",
    events.map((event, index) => ({ origin, no: first + index, event })),
  );
}

async function headerOf(db: Db, run: string): Promise<RunHeader | null> {
  const rows = await db
    .selectFrom("job_fact")
    .innerJoin("job_event", "job_event.id", "job_fact.event")
    .selectAll("job_event")
    .where("job_fact.field", "=", "run")
    .where("job_fact.value", "=", run)
    .execute();
  const event = rows[0] === undefined ? null : eventOf(rows[0]);
  return event?.kind === "run-started" ? event.header : null;
}

/** The conditions by which a draw is held against others. */
export function drawOf(job: string, header: RunHeader, { end }: JobEventOf<"run-ended">): DrawRow {
  const features = end.verdict?.features;
  const plateau = features?.plateauAmps ?? null;
  return {
    run: header.run,
    job,
    capture: header.capture,
    board: header.board === null ? null : storable(header.board.name),
    class: end.verdict?.class ?? "cannot-tell",
    plateau_amps: plateau,
    plateau_u:
      plateau === null || end.verdict === null
        ? null
        : (plateauUncertainty(header, end.verdict) ?? ampsUncertainty(plateau, null, 0)),
    peak_amps: features?.peakAmps ?? null,
    charge_coulombs: features?.chargeCoulombs ?? null,
    input_farads: features?.inputFarads ?? null,
    short_ohms: features?.shortOhms ?? null,
    period_ms: features?.periodMs ?? null,
  };
}
