import type { Dialect, Expression, Kysely } from "kysely";

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
  /** The ids of the jobs that hold every one of these words, or words that begin so, as a subquery. */
  jobsWithWords(words: readonly string[]): Expression<string>;
}
