import { createRequire } from "node:module";
import type { DatabaseSyncInstance, DatabaseSyncOptions } from "@photostructure/sqlite";
import type { SqliteDatabase, SqliteStatement } from "kysely";
import { rowWithBuffers } from "./row-with-buffers.ts";

export type Database = DatabaseSyncInstance;

const require = createRequire(import.meta.url);

/** Names of SQLite's result codes that this program tells apart, from https://www.sqlite.org/rescode.html. */
const NAMES = new Map([
  [5, "SQLITE_BUSY"],
  [8, "SQLITE_READONLY"],
  [11, "SQLITE_CORRUPT"],
  [13, "SQLITE_FULL"],
  [14, "SQLITE_CANTOPEN"],
  [19, "SQLITE_CONSTRAINT"],
  [26, "SQLITE_NOTADB"],
  [778, "SQLITE_IOERR_WRITE"],
  [1034, "SQLITE_IOERR_FSYNC"],
]);

/** Node 22 announces its interface as experimental on stderr; it is the same interface as on Node 24. */
function withoutWarning<T>(load: () => T): T {
  const { emitWarning } = process;
  process.emitWarning = () => {};
  try {
    return load();
  } finally {
    process.emitWarning = emitWarning;
  }
}

type Engine = new (path: string, options?: DatabaseSyncOptions) => Database;

const hasOwnInterface = process.getBuiltinModule?.("node:sqlite") !== undefined;

const engine: Engine = withoutWarning(() => {
  const { DatabaseSync: found } = hasOwnInterface ? require("node:sqlite") : require("@photostructure/sqlite");
  return found as Engine;
});

/** The error with SQLite's own name of what went wrong as its `code`, where it came from SQLite; else the error itself. */
function named(error: unknown): unknown {
  if (!(error instanceof Error) || !("errcode" in error) || typeof error.errcode !== "number") return error;
  const code = NAMES.get(error.errcode) ?? NAMES.get(error.errcode & 0xff) ?? `SQLITE_${error.errcode}`;
  return Object.assign(error, { code });
}

/** Runs `work`; an error of SQLite is thrown on with a `code` such as "SQLITE_FULL". */
export function inSqlite<T>(work: () => T): T {
  try {
    return work();
  } catch (error) {
    throw named(error);
  }
}

/**
 * Opens a database file by Node's own SQLite interface; on Node 20, which has none, by a package with the same one.
 * Throws an error with SQLite's name as its `code`.
 */
export function openDatabase(path: string, { readOnly = false, waitMs = 5000 } = {}): Database {
  return inSqlite(() => {
    const database = new engine(path, { readOnly });
    database.exec(`pragma busy_timeout = ${Math.trunc(waitMs)}`);
    return database;
  });
}

/** The first column of each row of a query without parameters. */
export function firstColumn(database: Database, query: string): unknown[] {
  return inSqlite(() => database.prepare(query).all()).map((row) => Object.values(row as object)[0]);
}

type Bound = Parameters<ReturnType<Database["prepare"]>["all"]>;

/**
 * Runs a statement. SQLite itself takes a transaction back on a full disk
 * (https://www.sqlite.org/lang_transaction.html, "Response To Errors Within A Transaction"); a rollback after that finds none,
 * and must not stand in for the error it was for.
 */
function unlessRolledBack<T>(query: string, run: () => T): T | { changes: number; lastInsertRowid: number } {
  try {
    return inSqlite(run);
  } catch (error) {
    if (query === "rollback" && error instanceof Error && error.message.includes("no transaction is active"))
      return { changes: 0, lastInsertRowid: 0 };
    throw error;
  }
}

/** A reader that has the log open keeps nobody waiting at the end for longer, milliseconds. */
const LAST_WAIT_MS = 100;

/**
 * Writes what is in the log into the file, as SQLite does when the last connection closes: with the package for Node 20 a connection
 * stays until its statements are collected, and a file that is copied or moved before would lack its latest rows.
 */
function emptyLog(database: Database): void {
  try {
    database.exec(`pragma busy_timeout = ${LAST_WAIT_MS}`);
    database.exec("pragma wal_checkpoint(TRUNCATE)");
  } catch {
    // The log stays beside the file, where the next one to open it finds it.
  }
}

/** Runs a statement once for each list of parameters, as if it were one; its changes are those of all of them. */
function runForEach(statement: ReturnType<Database["prepare"]>, lists: readonly (readonly unknown[])[]) {
  let changes = 0;
  for (const parameters of lists) changes += Number(statement.run(...(parameters as unknown as Bound)).changes);
  return { changes, lastInsertRowid: 0 };
}

const areLists = (parameters: readonly unknown[]): parameters is readonly (readonly unknown[])[] =>
  Array.isArray(parameters[0]);

/**
 * The database in the shape that Kysely's SQLite dialect asks for. A statement whose parameters are lists is prepared once and
 * run for each of them.
 */
export function forKysely(database: Database, { readOnly = false } = {}): SqliteDatabase {
  return {
    close: () => {
      if (!readOnly) emptyLog(database);
      database.close();
    },
    prepare(query): SqliteStatement {
      const statement = inSqlite(() => database.prepare(query));
      const bound = (parameters: readonly unknown[]) => parameters as unknown as Bound;
      return {
        reader: statement.columns().length > 0,
        all: (parameters) => inSqlite(() => statement.all(...bound(parameters))).map(rowWithBuffers),
        run: (parameters) =>
          unlessRolledBack(query, () =>
            areLists(parameters) ? runForEach(statement, parameters) : statement.run(...bound(parameters)),
          ),
        *iterate(parameters) {
          for (const row of statement.iterate(...bound(parameters))) yield rowWithBuffers(row);
        },
      };
    },
  };
}
