import type { Kysely } from "kysely";
import type { JobEvent, JobEventOf } from "../../../shared/job.ts";
import type { RunHeader } from "../../../shared/run-record.ts";
import { ampsUncertainty } from "../../analysis/reading-uncertainty.ts";
import { plateauUncertainty } from "../../verdict/amps-uncertainty.ts";
import { eventOf } from "./event-document.ts";
import { factsOf, wordsOf } from "./event-facts.ts";
import type { DrawRow, JobTables } from "./job-tables.ts";

type Db = Kysely<JobTables>;
type EventRow = JobTables["job_event"];

/** Rows in one statement; a statement of either database takes some ten thousand parameters. */
const AT_ONCE = 500;

/**
 * Files events with all that is derived from them: what jobs are found by, captures, draws. Filing one again changes
 * nothing. Their jobs must be there. A body this program does not understand is kept, and nothing is derived from it.
 */
export async function fileEvents(db: Db, rows: readonly EventRow[]): Promise<void> {
  await inParts(rows, (part) =>
    db
      .insertInto("job_event")
      .values([...part])
      .onConflict((conflict) => conflict.column("id").doNothing())
      .execute(),
  );
  await deriveFrom(db, rows);
}

/** Files what is derived from events that are there already. */
export async function deriveFrom(db: Db, rows: readonly EventRow[]): Promise<void> {
  const understood = rows.flatMap((row) => {
    const event = eventOf(row);
    return event === null ? [] : [{ row, event }];
  });
  const facts = understood.flatMap(({ row, event }) =>
    factsOf(event).map((fact) => ({
      event: row.id,
      ...fact,
      job: row.job,
      original: event.kind === "correction" ? event.of : row.id,
      stamp: row.stamp,
    })),
  );
  await inParts(facts, (part) =>
    db
      .insertInto("job_fact")
      .values([...part])
      .onConflict((conflict) => conflict.columns(["event", "field", "value"]).doNothing())
      .execute(),
  );
  const words = wordsByJob(understood);
  await inParts(words, (part) =>
    db
      .insertInto("event_words")
      .values([...part])
      .onConflict((conflict) => conflict.column("event").doNothing())
      .execute(),
  );
  const captures = understood.flatMap(({ row, event }) =>
    event.kind === "run-started" ? [{ id: event.header.capture, job: row.job, run: event.header.run }] : [],
  );
  await inParts(captures, (part) =>
    db
      .insertInto("capture")
      .values([...part])
      .onConflict((conflict) => conflict.column("id").doNothing())
      .execute(),
  );
  // A run that began long before it ended is looked up; its header is large, and most end with their beginning at hand.
  const headers = new Map(
    understood.flatMap(({ event }) =>
      event.kind === "run-started" ? [[event.header.run, event.header] as const] : [],
    ),
  );
  const draws: DrawRow[] = [];
  for (const { row, event } of understood) {
    if (event.kind !== "run-ended" || event.end.verdict === null) continue;
    const header = headers.get(event.end.run) ?? (await headerOf(db, event.end.run));
    if (header !== null) draws.push(drawOf(row.job, header, event));
  }
  await inParts(draws, (part) =>
    db
      .insertInto("draw")
      .values([...part])
      .onConflict((conflict) => conflict.column("run").doNothing())
      .execute(),
  );
}

/**
 * One row of words a job, under the first event that has some: a job's index entry is written anew with each row. In order of
 * jobs whoever files them, so that two who file words of the same jobs at once do not wait for each other in a ring.
 */
function wordsByJob(filed: readonly { row: EventRow; event: JobEvent }[]): JobTables["event_words"][] {
  const byJob = new Map<string, { event: string; job: string; words: Set<string> }>();
  for (const { row, event } of filed) {
    const words = wordsOf(event);
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
export async function logEvents(db: Db, origin: string, first: number, events: readonly string[]): Promise<void> {
  const rows = events.map((event, index) => ({ origin, no: first + index, event }));
  await inParts(rows, (part) =>
    db
      .insertInto("log")
      .values([...part])
      .onConflict((conflict) => conflict.columns(["origin", "no"]).doNothing())
      .execute(),
  );
}

async function inParts<T>(rows: readonly T[], work: (part: readonly T[]) => Promise<unknown>): Promise<void> {
  for (let from = 0; from < rows.length; from += AT_ONCE) await work(rows.slice(from, from + AT_ONCE));
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
    board: header.board?.name ?? null,
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
