import { type Kysely, SqliteDialect, sql } from "kysely";
import { type Database, firstColumn, forKysely, inSqlite, openDatabase } from "./sqlite-engine.ts";

/**
 * Everything that is only true of SQLite is in this file; all other SQL goes through Kysely, so that several benches can
 * share one PostgreSQL server some day.
 */
export interface SqliteFile {
  dialect: SqliteDialect;
  /** Writes a whole, checked copy to `path`, which must not be there; other connections may go on writing. */
  copyTo(path: string): void;
  /** Sentences of what is wrong with the file; empty when it is sound. */
  integrityProblems(): string[];
  close(): void;
}

export interface SqliteFileOptions {
  readOnly?: boolean;
  /** The file grows to this many pages of 4 KiB and no further; a way to have a full disk without one. */
  maxPages?: number;
}

/** Opens or makes a database file. Write-ahead log and full sync: a commit that returned survives a power cut. */
export function openSqliteFile(path: string, options: SqliteFileOptions = {}): SqliteFile {
  const database = openDatabase(path, { readOnly: options.readOnly ?? false });
  const pragma = (setting: string) => inSqlite(() => database.exec(`pragma ${setting}`));
  try {
    if (options.readOnly !== true) {
      pragma("journal_mode = WAL");
      pragma("synchronous = FULL");
    }
    pragma("foreign_keys = ON");
    // Without it a REPLACE deletes rows past the triggers that forbid deleting.
    pragma("recursive_triggers = ON");
    if (options.maxPages !== undefined) pragma(`max_page_count = ${Math.trunc(options.maxPages)}`);
  } catch (error) {
    database.close();
    throw error;
  }
  return {
    dialect: new SqliteDialect({ database: forKysely(database) }),
    copyTo: (to) => void inSqlite(() => database.prepare("VACUUM INTO ?").run(to)),
    integrityProblems: () => integrityProblems(database),
    close: () => void database.close(),
  };
}

/** What is wrong with the database at `path`, as SQLite's own check says it; empty when it is sound. */
export function sqliteFileProblems(path: string): string[] {
  const database = openDatabase(path, { readOnly: true });
  try {
    return integrityProblems(database);
  } finally {
    database.close();
  }
}

function integrityProblems(database: Database): string[] {
  return firstColumn(database, "pragma integrity_check").filter((said) => said !== "ok") as string[];
}

/** Makes `table` append-only for every program that opens the file: its rows can be neither changed nor deleted. */
export async function makeAppendOnly<DB>(db: Kysely<DB>, table: string): Promise<void> {
  for (const change of ["update", "delete"]) {
    await sql`create trigger ${sql.ref(`${table}_no_${change}`)} before ${sql.raw(change)} on ${sql.table(table)}
      begin select raise(abort, ${sql.lit(`${table} is append-only`)}); end`.execute(db);
  }
}

// A database that nothing refers to is closed by the garbage collector, and with it the hold would be gone.
const held = new Set<Database>();

/**
 * An exclusive hold on a file that the operating system itself takes back when the process ends, however it ends; so a
 * stale hold cannot be. Null where somebody else still has it after `waitMs`.
 */
export function holdFile(path: string, waitMs: number): { release(): void } | null {
  const database = openDatabase(path, { waitMs });
  try {
    inSqlite(() => database.exec("BEGIN EXCLUSIVE"));
  } catch (error) {
    database.close();
    if (error instanceof Error && "code" in error && error.code === "SQLITE_BUSY") return null;
    throw error;
  }
  held.add(database);
  return {
    release: () => {
      held.delete(database);
      database.exec("ROLLBACK");
      database.close();
    },
  };
}
