import { type Kysely, type Migration, type MigrationProvider, Migrator } from "kysely";
import { mergedSet } from "../store/merged-set.ts";
import type { JobTables } from "./job-tables.ts";
import { checkKnown, migrationNames } from "./migration-names.ts";
import type { RecordDatabase } from "./record-database.ts";

type Db = Kysely<JobTables>;

/** Each step once, in order of name, never edited after it was published; there is no way back but a backup. */
const stepsOn = (database: RecordDatabase): Record<string, Migration> => ({
  "0001-jobs": {
    async up(db) {
      await db.schema
        .createTable("job")
        .addColumn("id", database.text, (column) => column.primaryKey())
        .addColumn("created_at", database.text, (column) => column.notNull())
        .execute();
      await db.schema
        .createTable("job_event")
        .addColumn("id", database.text, (column) => column.primaryKey())
        .addColumn("job", database.text, (column) => column.notNull().references("job.id"))
        .addColumn("seq", "integer", (column) => column.notNull())
        .addColumn("recorded_at", database.text, (column) => column.notNull())
        .addColumn("kind", database.text, (column) => column.notNull())
        .addColumn("body", database.text, (column) => column.notNull())
        .addUniqueConstraint("job_event_seq", ["job", "seq"])
        .execute();
      await db.schema
        .createTable("attachment")
        .addColumn("sha256", database.text, (column) => column.primaryKey())
        .addColumn("bytes", "integer", (column) => column.notNull())
        .addColumn("media_type", database.text, (column) => column.notNull())
        .execute();
      for (const table of ["job", "job_event", "attachment"]) await database.makeAppendOnly(db, table);
    },
  },
  "0002-captures": {
    async up(db) {
      await db.schema
        .createTable("capture")
        .addColumn("id", database.text, (column) => column.primaryKey())
        .addColumn("job", database.text, (column) => column.notNull().references("job.id"))
        .addColumn("run", database.text, (column) => column.notNull().unique())
        .addColumn("state", database.text, (column) => column.notNull())
        .execute();
      await db.schema.createIndex("capture_of_job").on("capture").column("job").execute();
    },
  },
  // Lists ask for a few kinds of events of all jobs.
  "0003-kinds": {
    async up(db) {
      await db.schema.createIndex("job_event_kind").on("job_event").columns(["kind", "job", "seq"]).execute();
    },
  },
  // The record as a set of events that merges with another's.
  "0004-set": { up: (db) => mergedSet(db, database) },
  // The latest that a job said of a field has a table; nobody asks for the kinds of events of all jobs any more.
  "0005-last": {
    async up(db) {
      await db.schema.dropIndex("job_event_kind").execute();
      await database.makeLast(db);
      await database.relate(db, "job_fact", ["field", "value"]);
      await database.relate(db, "job_last", ["field", "value"]);
      // How unsure the most unsure plateau is bounds how far off a similar draw may be.
      await db.schema.createIndex("draw_unsure").on("draw").column("plateau_u").execute();
    },
  },
});

function migrator(db: Db, database: RecordDatabase, upTo: number): Migrator {
  const steps = Object.entries(stepsOn(database)).slice(0, upTo);
  const provider: MigrationProvider = { getMigrations: async () => Object.fromEntries(steps) };
  return new Migrator({ db, provider });
}

/**
 * Brings the database up to this program; each step commits whole or not at all. `upTo` stops after that many steps.
 * Throws BenchError "bad-input" for a database of a newer program.
 */
export async function migrate(
  db: Db,
  database: RecordDatabase,
  where: string,
  upTo: number = migrationNames.length,
): Promise<void> {
  const applied = await checkKnown(db, where);
  if (applied.length >= upTo) return;
  const { error } = await migrator(db, database, upTo).migrateToLatest();
  if (error !== undefined) throw error;
}
