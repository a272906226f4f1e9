import { Kysely } from "kysely";
import type { EndState, JobTables } from "../database/job-tables.ts";
import { openSqliteFile } from "../database/sqlite-file.ts";
import type { LoggedEvent } from "../store/record-set.ts";

/** The part of a damaged database that could be read. */
export interface Salvaged {
  events: LoggedEvent[];
  captureEnds: { capture: string; state: EndState }[];
  attachments: JobTables["attachment"][];
  /** Rows that were named somewhere and could not be read; more may be gone without a trace. */
  lost: number;
}

/** Rows that are asked for at once, and one by one where that fails. */
const AT_ONCE = 200;

/**
 * Reads what can be read of a database that is damaged, row by row, past the rows that cannot. `path` should be a copy: SQLite may
 * finish in it what was under way. Never throws: of a file that is no database at all nothing can be read.
 */
export async function salvageEvents(path: string): Promise<Salvaged> {
  const found: Salvaged = { events: [], captureEnds: [], attachments: [], lost: 0 };
  let db: Kysely<JobTables> | undefined;
  try {
    db = new Kysely<JobTables>({ dialect: openSqliteFile(path).dialect });
    await salvageFrom(db, found);
  } catch {
    // The events found until then stand.
  } finally {
    await db?.destroy().catch(() => undefined);
  }
  return found;
}

async function salvageFrom(db: Kysely<JobTables>, found: Salvaged): Promise<void> {
  const ids = new Set(await loggedIds(db));
  for (const order of ["asc", "desc"] as const) for (const id of await idsFrom(db, order)) ids.add(id);
  const jobs = new Map<string, string>();
  const rows = await eachOf([...ids], (some) =>
    db.selectFrom("job_event").selectAll().where("id", "in", some).execute(),
  );
  found.lost = ids.size - rows.length;
  const jobIds = [...new Set(rows.map((row) => row.job))];
  for (const row of await eachOf(jobIds, (some) => db.selectFrom("job").selectAll().where("id", "in", some).execute()))
    jobs.set(row.id, row.created_at);
  rows.sort((a, b) => (a.stamp < b.stamp ? -1 : 1));
  found.events = rows.map((event, index) => ({
    no: index + 1,
    event,
    jobCreatedAt: jobs.get(event.job) ?? event.recorded_at,
  }));
  found.captureEnds = await db
    .selectFrom("capture_end")
    .selectAll()
    .execute()
    .catch(() => []);
  found.attachments = await db
    .selectFrom("attachment")
    .selectAll()
    .execute()
    .catch(() => []);
}

/** The ids of events in the logs. Their numbers have no gaps, so that what cannot be read is stepped over. */
async function loggedIds(db: Kysely<JobTables>): Promise<string[]> {
  const ids: string[] = [];
  const origins = await db
    .selectFrom("log")
    .select((each) => ["origin", each.fn.max<number>("no").as("top")])
    .groupBy("origin")
    .execute()
    .catch(() => []);
  for (const { origin, top } of origins) {
    const numbers = Array.from({ length: Number(top) }, (_, index) => index + 1);
    const rows = await eachOf(numbers, (some) =>
      db.selectFrom("log").select("event").where("origin", "=", origin).where("no", "in", some).execute(),
    );
    ids.push(...rows.map((row) => row.event));
  }
  return ids;
}

/** The ids of events from one end of their table, up to the first that cannot be read. */
async function idsFrom(db: Kysely<JobTables>, order: "asc" | "desc"): Promise<string[]> {
  const ids: string[] = [];
  try {
    for (;;) {
      const last = ids.at(-1);
      const asked = db.selectFrom("job_event").select("id").orderBy("id", order).limit(AT_ONCE);
      const rows = await (last === undefined ? asked : asked.where("id", order === "asc" ? ">" : "<", last)).execute();
      if (rows.length === 0) return ids;
      ids.push(...rows.map((row) => row.id));
    }
  } catch {
    return ids;
  }
}

/** Asks for rows by what names them, many at once; where that fails, one by one, without those that fail by themselves. */
async function eachOf<Key, Row>(keys: readonly Key[], ask: (some: Key[]) => Promise<Row[]>): Promise<Row[]> {
  const rows: Row[] = [];
  for (let from = 0; from < keys.length; from += AT_ONCE) {
    const some = keys.slice(from, from + AT_ONCE);
    try {
      rows.push(...(await ask(some)));
    } catch {
      for (const key of some) rows.push(...(await ask([key]).catch(() => [])));
    }
  }
  return rows;
}
