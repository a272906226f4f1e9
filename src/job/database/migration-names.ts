import type { Kysely } from "kysely";
import { BenchError } from "../../../shared/bench-error.ts";
import type { JobTables } from "./job-tables.ts";

type Db = Kysely<JobTables>;

/** The names of the steps this program knows, in order. */
export const migrationNames: readonly string[] = ["0001-jobs", "0002-captures", "0003-kinds", "0004-set", "0005-last"];

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

/** The steps the database has; throws BenchError "bad-input" for one of a newer program. */
export async function checkKnown(db: Db, where: string): Promise<string[]> {
  const rows = await db
    .withTables<{ kysely_migration: { name: string } }>()
    .selectFrom("kysely_migration")
    .select("name")
    .orderBy("name")
    .execute()
    .catch((cause: unknown) => {
      if (lacksTable(cause)) return [];
      throw cause;
    });
  const unknown = rows.filter((row) => !migrationNames.includes(row.name)).map((row) => row.name);
  if (unknown.length > 0) {
    throw new BenchError(
      "bad-input",
      `The record in ${where} was made by a newer firstamp (it has ${unknown.join(", ")}); use that version; nothing was changed`,
    );
  }
  return rows.map((row) => row.name);
}

/** Asked in place of a list of all tables, for which SQLite opens each of them, at every start. */
function lacksTable(cause: unknown): boolean {
  if (!(cause instanceof Error)) return false;
  const isPostgres = "code" in cause && cause.code === "42P01";
  return isPostgres || cause.message.includes("no such table: kysely_migration");
}
