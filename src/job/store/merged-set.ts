import type { Kysely } from "kysely";
import type { JobEvent } from "../../../shared/record/job.ts";
import type { EndState, JobTables } from "../database/job-tables.ts";
import type { RecordDatabase } from "../database/record-database.ts";
import { deriveFrom, logEvents } from "./file-events.ts";
import { newOrigin, stampsOfOld } from "./stamp.ts";

/** The tables of the steps before this one, as far as they changed. */
interface OldTables {
  job_event: { id: string; job: string; seq: number; recorded_at: string; kind: JobEvent["kind"]; body: string };
  capture: { id: string; job: string; run: string; state: "open" | EndState };
}

/**
 * Turns a record whose events were numbered in each job into a set that merges with another's: every event gets a stamp,
 * and a number in the log of this record's origin. The events themselves stay as they are.
 */
export async function mergedSet(given: Kysely<unknown>, database: RecordDatabase): Promise<void> {
  const db = given as Kysely<JobTables>;
  const old = given as unknown as Kysely<OldTables & { job_event_old: OldTables["job_event"] }>;
  await db.schema.dropIndex("job_event_kind").execute();
  await db.schema.alterTable("job_event").renameTo("job_event_old").execute();
  await db.schema.alterTable("capture").renameTo("capture_old").execute();
  await makeTables(db, database);

  const origin = newOrigin("bench");
  // A shop's database files nothing itself, and holds nothing from before this step.
  if (database.kind === "sqlite")
    await db.insertInto("origin").values({ id: origin, since: new Date().toISOString() }).execute();
  const captures = await (given as Kysely<{ capture_old: OldTables["capture"] }>)
    .selectFrom("capture_old")
    .selectAll()
    .execute();
  for (const { state, ...capture } of captures) {
    await db.insertInto("capture").values(capture).execute();
    if (state !== "open") await db.insertInto("capture_end").values({ capture: capture.id, state }).execute();
  }
  let next = 1;
  for (const { id: job } of await db.selectFrom("job").select("id").orderBy("id").execute()) {
    const rows = await old.selectFrom("job_event_old").selectAll().where("job", "=", job).orderBy("seq").execute();
    const stamps = stampsOfOld(rows.map((row) => row.recorded_at));
    const events = rows.map(({ seq, ...row }, index) => ({ ...row, stamp: stamps[index] ?? "" }));
    for (const event of events) await db.insertInto("job_event").values(event).execute();
    await deriveFrom(db, database, events);
    await logEvents(
      db,
      database,
      { origin, first: next },
      events.map((event) => event.id),
    );
    next += events.length;
  }
  await db.schema.dropTable("job_event_old").execute();
  await db.schema.dropTable("capture_old").execute();
  await makeIndexes(db);
  for (const table of FIXED) await database.makeAppendOnly(db, table);
}

/** Tables whose rows stand as they were filed; `job` and `attachment` are so since the first step. */
const FIXED = ["job_event", "capture", "capture_end", "origin", "log", "job_fact", "event_words", "draw"];

async function makeTables(db: Kysely<JobTables>, { text, ...database }: RecordDatabase): Promise<void> {
  const { schema } = db;
  await schema
    .createTable("job_event")
    .addColumn("id", text, (column) => column.primaryKey())
    .addColumn("job", text, (column) => column.notNull().references("job.id"))
    .addColumn("stamp", text, (column) => column.notNull())
    .addColumn("recorded_at", text, (column) => column.notNull())
    .addColumn("kind", text, (column) => column.notNull())
    .addColumn("body", text, (column) => column.notNull())
    .execute();
  await schema
    .createTable("capture")
    .addColumn("id", text, (column) => column.primaryKey())
    .addColumn("job", text, (column) => column.notNull().references("job.id"))
    .addColumn("run", text, (column) => column.notNull())
    .execute();
  await schema
    .createTable("capture_end")
    .addColumn("capture", text, (column) => column.primaryKey())
    .addColumn("state", text, (column) => column.notNull())
    .execute();
  await schema
    .createTable("origin")
    .addColumn("id", text, (column) => column.primaryKey())
    .addColumn("since", text, (column) => column.notNull())
    .execute();
  await schema
    .createTable("log")
    .addColumn("origin", text, (column) => column.notNull())
    .addColumn("no", "integer", (column) => column.notNull())
    .addColumn("event", text, (column) => column.notNull())
    .addPrimaryKeyConstraint("log_number", ["origin", "no"])
    .execute();
  await schema
    .createTable("exchange")
    .addColumn("origin", text, (column) => column.primaryKey())
    .addColumn("known", "integer", (column) => column.notNull())
    .execute();
  await schema
    .createTable("sent")
    .addColumn("file", text, (column) => column.primaryKey())
    .execute();
  await schema
    .createTable("job_fact")
    .addColumn("event", text, (column) => column.notNull())
    .addColumn("field", text, (column) => column.notNull())
    .addColumn("value", text, (column) => column.notNull())
    .addColumn("said", "text")
    .addColumn("job", text, (column) => column.notNull())
    .addColumn("original", text, (column) => column.notNull())
    .addColumn("stamp", text, (column) => column.notNull())
    .addPrimaryKeyConstraint("job_fact_once", ["event", "field", "value"])
    .execute();
  await schema
    .createTable("event_words")
    .addColumn("event", text, (column) => column.primaryKey())
    .addColumn("job", text, (column) => column.notNull())
    .addColumn("words", text, (column) => column.notNull())
    .execute();
  await database.makeWordIndex(db);
  const draw = schema
    .createTable("draw")
    .addColumn("run", text, (column) => column.primaryKey())
    .addColumn("job", text, (column) => column.notNull())
    .addColumn("capture", text, (column) => column.notNull())
    .addColumn("board", text)
    .addColumn("class", text, (column) => column.notNull());
  const figures = [
    "plateau_amps",
    "plateau_u",
    "peak_amps",
    "charge_coulombs",
    "input_farads",
    "short_ohms",
    "period_ms",
  ] as const;
  await figures.reduce((table, name) => table.addColumn(name, "double precision"), draw).execute();
  if (database.kind === "sqlite") return;
  await schema
    .createTable("capture_file")
    .addColumn("capture", text, (column) => column.primaryKey())
    .addColumn("sha256", text)
    .addColumn("bytes", "bigint", (column) => column.notNull())
    .addColumn("state", text, (column) => column.notNull())
    .execute();
  await schema
    .createTable("chunk")
    .addColumn("sha256", text, (column) => column.notNull())
    .addColumn("part", "integer", (column) => column.notNull())
    .addColumn("data", database.bytes, (column) => column.notNull())
    .addPrimaryKeyConstraint("chunk_part", ["sha256", "part"])
    .execute();
  for (const table of ["capture_file", "chunk"]) await database.makeAppendOnly(db, table);
}

async function makeIndexes({ schema }: Kysely<JobTables>): Promise<void> {
  await schema.createIndex("job_event_order").on("job_event").columns(["job", "stamp", "id"]).execute();
  await schema.createIndex("job_event_kind").on("job_event").columns(["kind", "job"]).execute();
  await schema.createIndex("job_event_stamp").on("job_event").column("stamp").execute();
  await schema.createIndex("capture_of_job").on("capture").column("job").execute();
  await schema.createIndex("job_fact_value").on("job_fact").columns(["field", "value", "job"]).execute();
  await schema.createIndex("job_fact_job").on("job_fact").column("job").execute();
  await schema.createIndex("draw_plateau").on("draw").column("plateau_amps").execute();
  await schema.createIndex("draw_of_job").on("draw").column("job").execute();
}
