import { type Kysely, PostgresDialect, type SqlBool, sql } from "kysely";
import pg from "pg";
import type { AddRows, FiledTable, RecordDatabase } from "./record-database.ts";
import { DRAW_FIGURES, TABLE_COLUMNS } from "./table-columns.ts";

export interface PostgresOptions {
  /** Connections at once. Default 4. */
  connections?: number;
  /** The time that a connection, and then a statement, may take, milliseconds. Defaults 5 s and 60 s. */
  connectMs?: number;
  statementMs?: number;
}

/**
 * Everything that is only true of PostgreSQL is in this file. `url` is its connection string; where it has no password,
 * PGPASSWORD or the password file does. Nothing is connected before the first question.
 */
export function openPostgres(
  url: string,
  { connections = 4, connectMs = 5000, statementMs = 60_000 }: PostgresOptions = {},
): RecordDatabase {
  const pool = new pg.Pool({
    connectionString: url,
    max: connections,
    connectionTimeoutMillis: connectMs,
    query_timeout: statementMs,
    statement_timeout: statementMs,
    application_name: "firstamp",
    keepAlive: true,
  });
  // A connection that is lost is made anew with the next question; what was asked of it fails by itself. Without listeners
  // here and on each connection its loss would end the program.
  pool.on("error", () => undefined);
  pool.on("connect", (client) => client.on("error", () => undefined));
  return {
    kind: "postgres",
    dialect: new PostgresDialect({ pool }),
    text: sql<string>`text collate "C"`,
    bytes: "bytea",
    makeAppendOnly,
    makeWordIndex,
    makeLast,
    relate,
    jobsWithWords,
    isAmong,
    addRows,
  };
}

async function makeAppendOnly<DB>(db: Kysely<DB>, table: string): Promise<void> {
  await sql`create or replace function refuse_change() returns trigger language plpgsql as $$
    begin raise exception '% is append-only', tg_table_name; end $$`.execute(db);
  await sql`create trigger ${sql.ref(`${table}_no_change`)} before update or delete or truncate on ${sql.table(table)}
    for each statement execute function refuse_change()`.execute(db);
}

/** One row of words a job (https://www.postgresql.org/docs/current/textsearch.html), which only the function here may change. */
async function makeWordIndex<DB>(db: Kysely<DB>): Promise<void> {
  const statements = [
    sql`create table job_words (job text collate "C" primary key, words tsvector not null)`,
    sql`create index job_words_index on job_words using gin (words)`,
    // A job with more words than a book is found by its first ones; a tsvector holds at most 1 MiB.
    sql`create function file_words() returns trigger language plpgsql security definer set search_path from current as $$
      begin
        insert into job_words as known (job, words) values (new.job, array_to_tsvector(string_to_array(new.words, ' ')))
        on conflict (job) do update set words = known.words || excluded.words where length(known.words) < 4000;
        return null;
      end $$`,
    sql`create trigger event_words_added after insert on event_words for each row execute function file_words()`,
  ];
  for (const each of statements) await each.execute(db);
}

/** The fact with the greatest stamp, in whatever order facts come; only the function here may change the table. */
async function makeLast<DB>(db: Kysely<DB>): Promise<void> {
  const statements = [
    sql`create table job_last (job text collate "C" not null, field text collate "C" not null,
      value text collate "C" not null, stamp text collate "C" not null, primary key (job, field))`,
    sql`create index job_last_value on job_last (field, value, job)`,
    sql`insert into job_last select distinct on (job, field) job, field, value, stamp from job_fact
      where field in ('class', 'result', 'stage') order by job, field, stamp desc`,
    sql`create function keep_last() returns trigger language plpgsql security definer set search_path from current as $$
      begin
        insert into job_last as known (job, field, value, stamp) values (new.job, new.field, new.value, new.stamp)
        on conflict (job, field) do update set value = excluded.value, stamp = excluded.stamp
        where excluded.stamp > known.stamp;
        return null;
      end $$`,
    sql`create trigger job_fact_added after insert on job_fact for each row
      when (new.field in ('class', 'result', 'stage')) execute function keep_last()`,
  ];
  for (const each of statements) await each.execute(db);
}

/** The most common pairs of values (https://www.postgresql.org/docs/current/planner-stats.html, "Extended Statistics"). */
async function relate<DB>(db: Kysely<DB>, table: string, columns: readonly [string, string]): Promise<void> {
  const names = sql.join(columns.map((column) => sql.ref(column)));
  await sql`create statistics ${sql.ref(`${table}_${columns.join("_")}`)} (mcv) on ${names} from ${sql.table(table)}`.execute(
    db,
  );
}

const jobsWithWords = (words: readonly string[]) =>
  sql<string>`(select job from job_words where words @@ ${words.map((word) => `'${word}':*`).join(" & ")}::tsquery)`;

const isAmong = (column: string, texts: readonly string[]) =>
  sql<SqlBool>`${sql.ref(column)} = any(${sql.val(texts)}::text[])`;

/** Columns of filed rows that hold no text. */
const NUMBERS: Partial<Record<FiledTable, Record<string, string>>> = {
  log: { no: "integer" },
  draw: Object.fromEntries(DRAW_FIGURES.map((column) => [column, "double precision"])),
};

/**
 * One JSON array a column: the statement is as short for thousands of rows as for one, and JSON is written far sooner than the
 * driver's own arrays (https://www.postgresql.org/docs/current/functions-json.html, "json_array_elements_text").
 */
const addRows: AddRows = async (db, table, rows) => {
  if (rows.length === 0) return 0;
  const columns = TABLE_COLUMNS[table];
  const lists = columns.map((column) => {
    const values = JSON.stringify(rows.map((row) => row[column]));
    return sql`json_array_elements_text(${sql.val(values)}::json)`;
  });
  const names = columns.map((column) => sql.ref(column));
  const values = columns.map((column) => sql`${sql.ref(column)}::${sql.raw(NUMBERS[table]?.[column] ?? "text")}`);
  const { numAffectedRows } = await sql`insert into ${sql.table(table)} (${sql.join(names)})
    select ${sql.join(values)} from rows from (${sql.join(lists)}) as each (${sql.join(names)})
    on conflict do nothing`.execute(db);
  return Number(numAffectedRows ?? 0);
};

/**
 * The statements that the person who keeps the server runs so that these benches may read and add, and nothing more. Each role's password
 * is set by that person.
 */
export function rolesSql(database: string, benches: readonly string[]): string {
  const quotedName = (name: string) => `"${name.replaceAll('"', '""')}"`;
  const group = quotedName("firstamp_bench");
  return [
    `create role ${group} nologin;`,
    `revoke all on all tables in schema public from public;`,
    `grant connect on database ${quotedName(database)} to ${group};`,
    `grant usage on schema public to ${group};`,
    `grant select, insert on all tables in schema public to ${group};`,
    // Only the functions that keep the words and the last values change them, and only the owner changes the tables.
    `revoke insert on job_words, job_last, kysely_migration, kysely_migration_lock from ${group};`,
    ...benches.map((bench) => `create role ${quotedName(`firstamp_${bench}`)} login in role ${group};`),
    ...benches.map((bench) => `\\password ${quotedName(`firstamp_${bench}`)}`),
    "",
  ].join("\n");
}
