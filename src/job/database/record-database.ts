import type { Dialect, Expression, Kysely, SqlBool } from "kysely";
import type { JobTables } from "./job-tables.ts";

/** A database that can hold a record, with what its dialect of SQL does in a way of its own. */
export interface RecordDatabase {
  readonly kind: "sqlite" | "postgres";
  readonly dialect: Dialect;
  /** A text column that is ordered by its bytes. */
  readonly text: "text" | Expression<string>;
  readonly bytes: "blob" | "bytea";
  /** Makes rows of `table` such that no program can change or delete them. */
  makeAppendOnly<DB>(db: Kysely<DB>, table: string): Promise<void>;
  /** Makes the index of words that `event_words` feeds, job by job. */
  makeWordIndex<DB>(db: Kysely<DB>): Promise<void>;
  /** Makes the table of what jobs said last, which `job_fact` feeds, and fills it. */
  makeLast<DB>(db: Kysely<DB>): Promise<void>;
  /** Tells the database that what two columns of `table` hold depends on each other, so that it guesses well how many rows fit both. */
  relate<DB>(db: Kysely<DB>, table: string, columns: readonly [string, string]): Promise<void>;
  /** The ids of the jobs that hold every one of these words, or words that begin so, as a subquery. */
  jobsWithWords(words: readonly string[]): Expression<string>;
  /** Whether a column holds one of these texts, which may be many. */
  isAmong(column: string, texts: readonly string[]): Expression<SqlBool>;
  addRows: AddRows;
}

/** The tables that many rows are filed in at once. */
export type FiledTable = "job" | "job_event" | "job_fact" | "event_words" | "capture" | "capture_end" | "draw" | "log";

/**
 * Files rows in one statement, however many, in a transaction `db`; those whose key is there already stay as they are.
 * Answers how many were new.
 */
export type AddRows = <Table extends FiledTable>(
  db: Kysely<JobTables>,
  table: Table,
  rows: readonly JobTables[Table][],
) => Promise<number>;
