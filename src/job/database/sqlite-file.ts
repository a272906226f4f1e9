import { CompiledQuery, type Kysely, type SqlBool, SqliteDialect, sql } from "kysely";
import type { AddRows, RecordDatabase } from "./record-database.ts";
import { type Database, firstColumn, forKysely, inSqlite, openDatabase } from "./sqlite-engine.ts";
import { TABLE_COLUMNS } from "./table-columns.ts";

/**
 * Everything that is only true of SQLite is in this file; all other SQL goes through Kysely, so that several benches can
 * share one PostgreSQL server.
 */
export interface SqliteFile extends RecordDatabase {
  /** Writes a whole copy to `path`, which must not be there; other connections may go on writing. */
  copyTo(path: string): Promise<void>;
  close(): void;
}

export interface SqliteFileOptions {
  readOnly?: boolean;
  /** The file grows to this many pages of 4 KiB and no further; a way to have a full disk without one. */
  maxPages?: number;
}

const CACHE_KIB = 16 * 1024;

/** Opens or makes a database file. Write-ahead log and full sync: a commit that returned survives a power cut. */
export function openSqliteFile(path: string, options: SqliteFileOptions = {}): SqliteFile {
  const database = openDatabase(path, { readOnly: options.readOnly ?? false });
  const pragma = (setting: string) => inSqlite(() => database.exec(`pragma ${setting}`));
  try {
    if (options.readOnly !== true) {
      pragma("journal_mode = WAL");
      pragma("synchronous = FULL");
      // Room for the pages of a large transaction, which are written and read again where there is too little.
      pragma(`cache_size = -${CACHE_KIB}`);
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
    ...sqliteWays,
    dialect: new SqliteDialect({ database: forKysely(database, { readOnly: options.readOnly ?? false }) }),
    copyTo: async (to) => void inSqlite(() => database.prepare("VACUUM INTO ?").run(to)),
    close: () => void database.close(),
  };
}

/** The faults of the database at `path`, as SQLite's own check says it; empty when it is sound. */
export function sqliteFileProblems(path: string): string[] {
  const database = openDatabase(path, { readOnly: true });
  try {
    return firstColumn(database, "pragma integrity_check").filter((said) => said !== "ok") as string[];
  } finally {
    database.close();
  }
}

/** For every program that opens the file, by triggers. */
async function makeAppendOnly<DB>(db: Kysely<DB>, table: string): Promise<void> {
  for (const change of ["update", "delete"]) {
    await sql`create trigger ${sql.ref(`${table}_no_${change}`)} before ${sql.raw(change)} on ${sql.table(table)}
      begin select raise(abort, ${sql.lit(`${table} is append-only`)}); end`.execute(db);
  }
}

/** One row of words a job, indexed by FTS5 (https://www.sqlite.org/fts5.html, "External Content Tables"). */
async function makeWordIndex<DB>(db: Kysely<DB>): Promise<void> {
  const statements = [
    sql`create table job_words (number integer primary key, job text not null unique, words text not null)`,
    sql`create virtual table job_word_index using fts5(words, content='job_words', content_rowid='number',
      tokenize='unicode61 remove_diacritics 0', detail='none', prefix='2 3')`,
    sql`create trigger job_words_added after insert on job_words
      begin insert into job_word_index(rowid, words) values (new.number, new.words); end`,
    sql`create trigger job_words_changed after update on job_words begin
      insert into job_word_index(job_word_index, rowid, words) values ('delete', old.number, old.words);
      insert into job_word_index(rowid, words) values (new.number, new.words); end`,
    // A job with more words than a book is found by its first ones.
    sql`create trigger event_words_added after insert on event_words begin
      insert into job_words(job, words) values (new.job, new.words)
      on conflict(job) do update set words = words || ' ' || excluded.words where length(words) < 50000; end`,
  ];
  for (const each of statements) await each.execute(db);
}

/** The fact with the greatest stamp, in whatever order facts come. */
async function makeLast<DB>(db: Kysely<DB>): Promise<void> {
  const keep = sql`on conflict(job, field) do update set value = excluded.value, stamp = excluded.stamp
    where excluded.stamp > job_last.stamp`;
  const statements = [
    sql`create table job_last (job text not null, field text not null, value text not null, stamp text not null,
      primary key (job, field)) without rowid`,
    sql`create index job_last_value on job_last (field, value, job)`,
    sql`insert into job_last select job, field, value, stamp from job_fact
      where field in ('class', 'result', 'stage') ${keep}`,
    sql`create trigger job_fact_added after insert on job_fact when new.field in ('class', 'result', 'stage') begin
      insert into job_last values (new.job, new.field, new.value, new.stamp) ${keep}; end`,
  ];
  for (const each of statements) await each.execute(db);
}

const jobsWithWords = (words: readonly string[]) =>
  sql<string>`(select job from job_words where number in
    (select rowid from job_word_index where job_word_index match ${words.map((word) => `"${word}"*`).join(" ")}))`;

const isAmong = (column: string, texts: readonly string[]) =>
  sql<SqlBool>`${sql.ref(column)} in (select value from json_each(${JSON.stringify(texts)}))`;

/** One statement that is run for each list of parameters (sqlite-engine.ts). */
const addRows: AddRows = async (db, table, rows) => {
  if (rows.length === 0) return 0;
  const columns = TABLE_COLUMNS[table];
  const places = columns.map(() => "?").join(", ");
  const { numAffectedRows } = await db.executeQuery(
    CompiledQuery.raw(
      `insert into "${table}" ("${columns.join('", "')}") values (${places}) on conflict do nothing`,
      rows.map((row) => columns.map((column) => row[column])),
    ),
  );
  return Number(numAffectedRows ?? 0);
};

/** The parts that SQLite does in a way of its own, whichever thread its file is open on. */
export const sqliteWays = {
  kind: "sqlite",
  text: "text",
  bytes: "blob",
  makeAppendOnly,
  makeWordIndex,
  makeLast,
  // It looks values up as it is asked for them, and guesses no numbers of pairs.
  relate: async () => undefined,
  jobsWithWords,
  isAmong,
  addRows,
} as const satisfies Partial<RecordDatabase>;

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
