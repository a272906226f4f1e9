import type { Kysely } from "kysely";
import { BenchError } from "../../../shared/bench-error.ts";
import type { JobTables } from "../database/job-tables.ts";
import type { RecordDatabase } from "../database/record-database.ts";
import { documentOf } from "./event-document.ts";
import { fileEvents } from "./file-events.ts";
import { parseStamp } from "./stamp.ts";

type Db = Kysely<JobTables>;
type EventRow = JobTables["job_event"];

/** An event as an origin logged it, with when its job was opened. */
export interface LoggedEvent {
  no: number;
  event: EventRow;
  jobCreatedAt: string;
}

export interface TakenIn {
  /** Events that were not here before. */
  events: EventRow[];
  /** Sentences about what could not be taken in. */
  troubles: string[];
}

/** A record as another one sees it: a set of events, each logged by an origin under a number. */
export interface RecordSet {
  /** The last number of an origin's log that is here; 0 for none. */
  top(origin: string): Promise<number>;
  /** The event an origin logged under a number; null where that is not here. */
  eventAt(origin: string, no: number): Promise<string | null>;
  /** The entries that an origin logged after a number, in order, at most `most`. */
  after(origin: string, no: number, most: number): Promise<LoggedEvent[]>;
  /**
   * Files what an origin logged, all of it or nothing; again changes nothing. Throws BenchError "bad-input" where the
   * origin logged something else under one of these numbers: two records then go by one origin.
   */
  takeIn(origin: string, logged: readonly LoggedEvent[]): Promise<TakenIn>;
}

const UUID = /^[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$/;

/** The set that a database holds. */
export function recordSet(db: Db, database: RecordDatabase): RecordSet {
  return {
    async top(origin) {
      const row = await db
        .selectFrom("log")
        .select("no")
        .where("origin", "=", origin)
        .orderBy("no", "desc")
        .limit(1)
        .executeTakeFirst();
      return Number(row?.no ?? 0);
    },

    async eventAt(origin, no) {
      const row = await db
        .selectFrom("log")
        .select("event")
        .where("origin", "=", origin)
        .where("no", "=", no)
        .executeTakeFirst();
      return row?.event ?? null;
    },

    async after(origin, no, most) {
      const rows = await db
        .selectFrom("log")
        .innerJoin("job_event", "job_event.id", "log.event")
        .innerJoin("job", "job.id", "job_event.job")
        .selectAll("job_event")
        .select(["log.no", "job.created_at"])
        .where("log.origin", "=", origin)
        .where("log.no", ">", no)
        .orderBy("log.no")
        .limit(most)
        .execute();
      return rows.map(({ no: number, created_at, ...event }) => ({
        no: Number(number),
        event,
        jobCreatedAt: created_at,
      }));
    },

    takeIn: (origin, logged) =>
      db.transaction().execute(async (all) => {
        await fileLog(all, database, origin, logged);
        return await takeInEvents(all, database, origin, logged);
      }),
  };
}

/** Files events that an origin logged, but not the log itself; those that are here already stay as they are. */
export async function takeInEvents(
  db: Db,
  database: RecordDatabase,
  origin: string,
  logged: readonly LoggedEvent[],
): Promise<TakenIn> {
  const troubles: string[] = [];
  const sound = logged.filter(({ event }) => {
    const problem = problemOf(event);
    if (problem !== null) troubles.push(`An event of ${origin} was not imported: ${problem}`);
    return problem === null;
  });
  const ids = sound.map(({ event }) => event.id);
  const here = await db.selectFrom("job_event").select(["id", "body"]).where(database.isAmong("id", ids)).execute();
  const bodies = new Map(here.map((row) => [row.id, row.body]));
  const fresh = sound.filter(({ event }) => {
    const body = bodies.get(event.id);
    if (body !== undefined && body !== event.body)
      troubles.push(`The event ${event.id} of ${origin} differs from the one here; the one here stays`);
    return body === undefined;
  });
  const jobs = new Map(fresh.map(({ event, jobCreatedAt }) => [event.job, jobCreatedAt]));
  await database.addRows(
    db,
    "job",
    [...jobs].map(([id, created_at]) => ({ id, created_at })),
  );
  const events = fresh.map(({ event }) => event);
  await fileEvents(db, database, events);
  return { events, troubles };
}

/** Logs the numbers; throws where the origin logged something else under one of them. */
async function fileLog(
  db: Db,
  database: RecordDatabase,
  origin: string,
  logged: readonly LoggedEvent[],
): Promise<void> {
  const [first, last] = [logged[0], logged.at(-1)];
  if (first === undefined || last === undefined) return;
  const added = await database.addRows(
    db,
    "log",
    logged.map(({ no, event }) => ({ origin, no, event: event.id })),
  );
  if (added === logged.length) return;
  const rows = await db
    .selectFrom("log")
    .select(["no", "event"])
    .where("origin", "=", origin)
    .where("no", ">=", first.no)
    .where("no", "<=", last.no)
    .execute();
  const known = new Map(rows.map((row) => [Number(row.no), row.event]));
  if (logged.some(({ no, event }) => known.get(no) !== event.id))
    throw new BenchError("bad-input", `Two records use the same origin, ${origin}, because one is a copy of the other`);
}

/** Why a row from elsewhere is no event, or null. A kind that this program does not know is one. */
function problemOf(row: EventRow): string | null {
  const { id, job, stamp, recorded_at, kind } = row;
  if (!UUID.test(id) || !UUID.test(job)) return "its id is not valid";
  if (parseStamp(stamp) === null) return "its stamp is not valid";
  if (Number.isNaN(Date.parse(recorded_at))) return "its time is not valid";
  const said = documentOf(row);
  if (typeof said === "object" && said !== null && "kind" in said && said.kind === kind) return null;
  return "its text is not an event";
}
