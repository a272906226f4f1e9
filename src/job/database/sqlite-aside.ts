import {
  CompiledQuery,
  type DatabaseConnection,
  type Dialect,
  type Driver,
  type QueryResult,
  SqliteAdapter,
  SqliteIntrospector,
  SqliteQueryCompiler,
} from "kysely";
import { AskedThread } from "../../system/asked-thread.ts";
import { inProgram } from "../../system/in-program.ts";
import { rowWithBuffers } from "./row-with-buffers.ts";
import { openSqliteFile, type SqliteFile, type SqliteFileOptions, sqliteWays } from "./sqlite-file.ts";
import type { FileRequest } from "./sqlite-worker.ts";

const WORKER = inProgram("job/database/sqlite-worker.js");

/** A database file whose statements run on a thread of their own. */
export type SqliteAside = Omit<SqliteFile, "close">;

/**
 * Opens a database file as `openSqliteFile` does, on a thread of its own. A commit waits for the disk, and for another
 * program that has the file locked; the thread that asks goes on meanwhile, as one must that beats to a bench process.
 * Without a thread the file is opened on this one. Throws what `openSqliteFile` throws.
 */
export async function openSqliteAside(
  path: string,
  options: SqliteFileOptions = {},
  worker = WORKER,
): Promise<SqliteAside> {
  if (!AskedThread.canRun(worker)) return openSqliteFile(path, options);
  const aside = new Aside(new AskedThread(worker, { path, options }));
  await aside.ask({ kind: "open" });
  const dialect: Dialect = {
    createDriver: () => new AsideDriver(aside),
    createQueryCompiler: () => new SqliteQueryCompiler(),
    createAdapter: () => new SqliteAdapter(),
    createIntrospector: (db) => new SqliteIntrospector(db),
  };
  return { ...sqliteWays, dialect, copyTo: async (to) => void (await aside.ask({ kind: "copy", to })) };
}

const NOTHING: QueryResult<unknown> = { rows: [] };

/** The thread with the file open; its answers come in the order of the requests. */
class Aside {
  readonly #thread: AskedThread;

  constructor(thread: AskedThread) {
    this.#thread = thread;
  }

  async ask(request: FileRequest): Promise<QueryResult<unknown>> {
    const result = (await this.#thread.ask(request)) as QueryResult<unknown>;
    return { ...result, rows: result.rows.map(rowWithBuffers) };
  }
}

/** Kysely's driver of the thread: one connection, lent to one query or transaction at a time. */
class AsideDriver implements Driver {
  readonly #aside: Aside;
  #free: Promise<void> = Promise.resolve();
  #giveBack: () => void = () => {};
  readonly #connection: DatabaseConnection;

  constructor(aside: Aside) {
    this.#aside = aside;
    this.#connection = {
      executeQuery: async <R>({ sql, parameters }: CompiledQuery) =>
        (await aside.ask({ kind: "query", sql, parameters })) as QueryResult<R>,
      // biome-ignore lint/correctness/useYield: the interface asks for a generator; this one only refuses.
      streamQuery: async function* () {
        throw new Error("a record on a thread of its own answers whole results only");
      },
    };
  }

  async init(): Promise<void> {}

  async acquireConnection(): Promise<DatabaseConnection> {
    const before = this.#free;
    let giveBack = () => {};
    this.#free = new Promise((resolve) => {
      giveBack = resolve;
    });
    await before;
    this.#giveBack = giveBack;
    return this.#connection;
  }

  async releaseConnection(): Promise<void> {
    this.#giveBack();
  }

  async beginTransaction(): Promise<void> {
    await this.#connection.executeQuery(CompiledQuery.raw("begin"));
  }

  async commitTransaction(): Promise<void> {
    await this.#connection.executeQuery(CompiledQuery.raw("commit"));
  }

  async rollbackTransaction(): Promise<void> {
    await this.#connection.executeQuery(CompiledQuery.raw("rollback"));
  }

  async destroy(): Promise<void> {
    await this.#aside.ask({ kind: "close" }).catch(() => NOTHING);
  }
}
