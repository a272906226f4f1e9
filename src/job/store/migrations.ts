import { type Kysely, type Migration, type MigrationProvider, Migrator } from "kysely";
import { BenchError } from "../../../shared/bench-error.ts";
import type { JobTables } from "./job-tables.ts";
import { makeAppendOnly } from "./sqlite-file.ts";

type Db = Kysely<JobTables>;

/** Each step once, in order of name, never edited after it was published; there is no way back but a backup. */
const steps: Record<string, Migration> = {
  "0001-jobs": {
    async up(db) {
      await db.schema
        .createTable("job")
        .addColumn("id", "text", (column) => column.primaryKey())
        .addColumn("created_at", "text", (column) => column.notNull())
        .execute();
      await db.schema
        .createTable("job_event")
        .addColumn("id", "text", (column) => column.primaryKey())
        .addColumn("job", "text", (column) => column.notNull().references("job.id"))
        .addColumn("seq", "integer", (column) => column.notNull())
        .addColumn("recorded_at", "text", (column) => column.notNull())
        .addColumn("kind", "text", (column) => column.notNull())
        .addColumn("body", "text", (column) => column.notNull())
        .addUniqueConstraint("job_event_seq", ["job", "seq"])
        .execute();
      await db.schema
        .createTable("attachment")
        .addColumn("sha256", "text", (column) => column.primaryKey())
        .addColumn("bytes", "integer", (column) => column.notNull())
        .addColumn("media_type", "text", (column) => column.notNull())
        .execute();
      for (const table of ["job", "job_event", "attachment"]) await makeAppendOnly(db, table);
    },
  },
  "0002-captures": {
    async up(db) {
      await db.schema
        .createTable("capture")
        .addColumn("id", "text", (column) => column.primaryKey())
        .addColumn("job", "text", (column) => column.notNull().references("job.id"))
        .addColumn("run", "text", (column) => column.notNull().unique())
        .addColumn("state", "text", (column) => column.notNull())
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
};

const migrator = (db: Db, upTo?: number) => {
  const names = Object.keys(steps).slice(0, upTo);
  const provider: MigrationProvider = {
    getMigrations: async () => Object.fromEntries(names.map((name) => [name, steps[name] as Migration])),
  };
  return new Migrator({ db, provider });
};

/** The names of the steps this program knows, in order. */
export const migrationNames: readonly string[] = Object.keys(steps);

/**
 * Brings the database up to this program; each step commits whole or not at all. `upTo` stops after that many steps.
 * Throws BenchError "bad-input" for a database of a newer program.
 */
export async function migrate(db: Db, where: string, upTo?: number): Promise<void> {
  await checkKnown(db, where);
  const { error } = await migrator(db, upTo).migrateToLatest();
  if (error !== undefined) throw error;
}

/** Throws BenchError "bad-input" where the database is not exactly at this program's last step; changes nothing. */
export async function checkMigrated(db: Db, where: string): Promise<void> {
  const applied = await checkKnown(db, where);
  if (applied.length < migrationNames.length) {
    throw new BenchError(
      "bad-input",
      `The record in ${where} was made by an older firstamp; run any command that writes to it once (such as "job new") to bring it up to date`,
    );
  }
}

async function checkKnown(db: Db, where: string): Promise<string[]> {
  const tables = await db.introspection.getTables({ withInternalKyselyTables: true });
  if (!tables.some((table) => table.name === "kysely_migration")) return [];
  const rows = await db
    .withTables<{ kysely_migration: { name: string } }>()
    .selectFrom("kysely_migration")
    .select("name")
    .orderBy("name")
    .execute();
  const unknown = rows.filter((row) => !migrationNames.includes(row.name)).map((row) => row.name);
  if (unknown.length > 0) {
    throw new BenchError(
      "bad-input",
      `The record in ${where} was made by a newer firstamp (it has ${unknown.join(", ")}); nothing was changed, use that version`,
    );
  }
  return rows.map((row) => row.name);
}
